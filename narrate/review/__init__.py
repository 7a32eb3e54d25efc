"""The advisor's page: a local web application over the store."""
