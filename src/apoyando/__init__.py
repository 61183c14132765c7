"""From a lead sheet to a piece for one guitar.

The rooms, from the ground up; each uses those below it only, and its door is its ``__init__``:

- ``model``: what everything is made of (time, pitch, harmony, song, hand, arrangement); ``cores``: work side by side.
- ``fingering``: where the left and the right hand go.
- ``reading``, ``arranging``, ``proofing``, ``engraving``, ``sound``, ``teaching``: one stage of the way each.
- ``report``: what is told about a piece; ``difference``: what is different now.
- ``pipeline``: the whole way on one page. Begin here.
- ``files``: the disk; ``repertoire``: the shelf, a folder of songs with their plans.
- ``desk``: the page in the browser; ``cli``: the command line.
"""

__version__ = "0.1.0"
