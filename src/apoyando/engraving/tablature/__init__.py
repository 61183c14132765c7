"""Tablature under the staff (``strings``), or alone with its rhythm (``alone``, ``stems``)."""
