"""Floor 5: what the command line offers, `python3 manage.py <command>`.

A command translates, as a page does: arguments into one call of a verb or query, the outcome into
plain lines, a refusal into words and a failing exit code.
"""
