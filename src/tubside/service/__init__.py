"""One file per stage of the job; joins knowledge and computation."""
