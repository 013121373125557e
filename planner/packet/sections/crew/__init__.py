"""The crew's pages, one module each."""
