"""Small functions that read the plan and say what they find. They never change it and never choose words."""
