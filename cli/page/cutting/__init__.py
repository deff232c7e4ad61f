"""What is cut: files for machine and printer, from the screen, at true size."""
