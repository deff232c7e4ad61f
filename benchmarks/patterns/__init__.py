"""Pattern files to read, in two formats: written from pieces, as other programs would."""
