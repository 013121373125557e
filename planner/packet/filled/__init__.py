"""A filled packet read back from a PDF that may be anything."""
