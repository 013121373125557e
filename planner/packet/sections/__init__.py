"""A checked job into blocks: one module a page or part of one, in the order of `order.py`."""
