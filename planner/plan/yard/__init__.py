"""A pump taken down in the yard: its test, its flush, the bath, the parts, what it held."""
