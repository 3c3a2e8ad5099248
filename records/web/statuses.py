"""The statuses that pages answer with, beside those of refusals, which know their own."""

OK = 200
UNPROCESSABLE = 422
"""A form that can't be done as it was filled in; it is shown again with what is wrong."""
