"""The record of a passive optical network: the project package and its main application.

Each sub-package is one floor and imports only from its own floor or below (pyproject.toml holds
the contracts): `optics` and `light` compute and know no database; `models` are the tables;
`queries` read; `changes` are the only writers; `intake` and `handover` take documents in and give
them out; `web` and `management` are faces. Beside them stand the settings, urls and wsgi that
Django itself reads.

This file imports nothing, so that `records.optics` and `records.light` load without Django.
"""
