"""What a person changes on the review page: each correction is a pure function from walkaround to walkaround."""
