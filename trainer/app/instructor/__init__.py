"""The instructor in the window: simulation of the group, and apart from it supervised work."""
