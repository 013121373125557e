"""The pages of a yard job."""
