"""Places of the page that were added to its frame: the pages on paper, what is new, the order of a day."""
