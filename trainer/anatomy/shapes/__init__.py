"""Tools of every shape: signed distances, grids, meshes, sampled fields, calipers."""
