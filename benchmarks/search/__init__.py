"""What the search reaches: published cases, many copies, freedom to turn, jigsaws, sheets."""
