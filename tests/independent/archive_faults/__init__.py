"""A sound document, and the faults that `archive_mutations.py` puts into it."""
