"""Floor 5: the REST interface under /api/.

An endpoint translates: it reads with one call to `records.queries`, writes with one call to a verb
of `records.changes`, and answers a refusal as a problem (RFC 9457) in the words the page uses.
Serializers check the shape of what comes in, never a rule.

Start from urls.py, which lists every endpoint.
"""
