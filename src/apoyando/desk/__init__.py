"""The desk: the arranger's work done in a browser, served on this machine alone.

``serve_desk`` opens it on a shelf and serves until it is stopped. No music in here: what is
musical comes from ``pipeline`` and the rooms below, in a process of its own (``worker``).
"""

from apoyando.desk.serving import serve_desk

__all__ = ["serve_desk"]
