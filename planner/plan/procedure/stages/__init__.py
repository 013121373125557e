"""The rooms of a job in their order, each told to the book: opening to closing, and the yard's."""
