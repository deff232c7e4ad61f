"""What writes the pages of `sample_markers`: the job file's format, and its sketches."""
