"""One file per kind of change; one verb function is one transaction. Rows are written nowhere else."""
