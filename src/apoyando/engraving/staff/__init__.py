"""One line of music: laid out along the staff, then finished with its marks.

``casting`` chooses the bars of a line, ``mei`` writes them for the layout program, ``layout`` has them spaced and
``drawn`` reads its drawing back; ``clearing``, ``digits`` and ``hold_chart`` put the rest to it.
"""
