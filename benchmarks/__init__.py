"""What the program reaches: published cases, growth, and campaigns that try to break it."""
