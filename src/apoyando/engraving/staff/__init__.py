"""One line of music: laid out along the staff, then finished with its marks.

``casting`` chooses the bars of a line, ``layout`` has it spaced, ``lines`` puts it together.
"""
