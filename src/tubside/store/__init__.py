"""Facts and tables: appended, never changed; SQLite, or PostgreSQL for a larger shop."""
