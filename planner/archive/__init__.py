"""What was planned, printed and done, kept in one SQLite file or in a PostgreSQL database.

Nothing outside this package imports SQLAlchemy, and nothing imports this package before a command needs it.
"""
