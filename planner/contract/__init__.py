"""The JSON of a plan, a day, a record and a comparison: what other programs and the archive read."""
