"""X-rays in the trainer: attenuation, the tube's spectrum, projection on a flat detector.

Straight rays, all energies of the tube, and an ideal detector: no scatter, no focal spot, no lag.
Good enough to learn positioning from; never a measure of image quality or dose of a real machine.
"""
