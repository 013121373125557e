"""What people write: strict YAML with a place for every node, typed models, and the workspace that joins them."""
