"""What the shop keeps: events, recordings, orders, people. Sole home of SQLAlchemy and Alembic."""
