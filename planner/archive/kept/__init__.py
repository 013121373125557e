"""Plans, packets and records in one SQLite file or PostgreSQL: the only place that knows SQLAlchemy."""
