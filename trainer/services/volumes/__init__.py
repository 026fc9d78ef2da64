"""What a run records: its scan, volume, slices, dose and what stands in its beam."""
