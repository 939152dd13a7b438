"""The journals of many machines in one store: pushed to PostgreSQL, and read from there."""
