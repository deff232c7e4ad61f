"""What campaigns are tried with: random jobs, as the text of TOML files."""
