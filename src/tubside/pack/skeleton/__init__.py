"""The files that a new family begins with: they check clean and explain every field."""
