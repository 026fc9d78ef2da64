"""The window of a whole appointment: what an operator sees, says and does, from request to record.

`controller` stands between the widgets and the engine, `window` puts the parts together. The acts
are listed as data in `acts`; all wording is in `act_words`, `told_words` and `image_words`.
"""
