"""From findings and a price book to jobs, lines, totals and what the customer said to them."""
