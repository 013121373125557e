"""From files to values: folders, strict YAML with a place for every node, names, handwriting, sizes."""
