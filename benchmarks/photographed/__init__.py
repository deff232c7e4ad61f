"""Pictures with a known truth: invented prints and hides, and a camera that looks at them."""
