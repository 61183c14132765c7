"""Texture: when the accompaniment is struck, and in how many notes.

A bass is due at the start of every bar and of every harmony, and at the half of a long bar; what
else is due is the texture's, one file for each. Where the melody itself strikes nothing needs
to be added to keep things moving. Where the tune comes to rest, at the end of the piece or
under a fermata, every texture closes with a chord.
"""

from apoyando.arranging.texture.choice import choose_textures, join_sections, suggest_texture
from apoyando.arranging.texture.dues import BassDue, InnerDue, Lasting, Need, Window
from apoyando.arranging.texture.ground import find_pace
from apoyando.arranging.texture.laying import lay_textures

__all__ = [
    "BassDue",
    "InnerDue",
    "Lasting",
    "Need",
    "Window",
    "choose_textures",
    "find_pace",
    "join_sections",
    "lay_textures",
    "suggest_texture",
]
