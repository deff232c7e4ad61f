"""What lies on disk: saved, watched, found there, while others write, too."""
