"""One person's whole head: the reference, surfaces, named structures, voxels."""
