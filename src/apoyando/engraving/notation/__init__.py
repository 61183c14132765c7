"""The piece as written signs, before anybody knows where they stand.

What is written (``selection``, ``variants``, ``kept``), in which voices and values (``voices``,
``rhythm``, ``meter``, ``beams``, ``shared_stems``, together in ``score``), with which accidentals,
chord symbols and fingering marks.
"""
