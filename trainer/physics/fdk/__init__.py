"""From the pictures of a turn to a volume: weights, filter, backprojection.

After Feldkamp, Davis & Kress, J. Opt. Soc. Am. A 1:612-619, 1984. Everything counts on a detector
that is thought to stand in the rotation axis: there a pixel is ``pixel * SID / SDD`` wide.
"""
