"""From a lead sheet to a piece for one guitar.

The rooms, from the ground up:

- ``model``: what everything is made of (time, pitch, harmony, song, hand, arrangement).
- ``fingering``: where the left and the right hand go.
- ``reading``, ``arranging``, ``proofing``, ``engraving``: one stage of the way each.
- ``pipeline``: the whole way on one page.
- ``cli``: the command line.
"""

__version__ = "0.1.0"
