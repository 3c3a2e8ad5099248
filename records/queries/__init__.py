"""Floor 3, below the verbs: answers. Nothing here writes.

Each module answers one kind of question: `find` (one box), `paths` (a point up to its OLTs),
`below` (who hangs from a thing), `legs` (conditions and counts), `buildings`, `history`,
`invariants` (is the record sound). Answers are frozen dataclasses or
querysets. Start from paths.py.
"""
