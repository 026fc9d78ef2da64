"""X-rays in the trainer: attenuation, the tube's spectrum, projection on a flat detector, volumes.

Straight rays, all energies of the tube, photon noise. Scouts have an ideal detector; a scan's views
also have pixels and a focal spot of finite size, and are put together to a volume (`fdk`). No
scatter, no lag. Good enough to learn positioning from; never a measure of image quality or dose of
a real machine.
"""
