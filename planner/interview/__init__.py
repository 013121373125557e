"""The walks of questions: `planner new`, and a record by questions."""
