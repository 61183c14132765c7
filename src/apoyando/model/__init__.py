"""What everything is made of: plain frozen values, and what follows from them alone. Nothing is done here.

- what was read: ``song`` (its ``form``, ``harmony``, ``phrase``), ``score``; in ``time``, ``pitch`` and ``dynamics``
- what the player decides: ``plan``, with ``locks`` and ``sheet``; ``level``: what may be asked of a hand
- the guitar and the hands: ``instrument``, ``hand``; where they lie: ``position``, ``hand_shape``
- what the search minimises: ``prices``
- what is made: ``arrangement``, with ``form_steps`` and ``ring``; ``lesson``
- how a player hears of it: ``errors``; ``beat``, ``bar_names``, ``bar_numbers``, ``note_values``, ``chord_text``
"""
