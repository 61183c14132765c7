"""Every price of the search, named, in one place, with its reason.

Conventions: prices are whole numbers, so that sums are exact and the same on every
machine; 100 is one clear discomfort to the player or one clear blemish to the ear. The
formula they go into is in ``docs/objective.md``. A player's plan can turn each up or down.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from apoyando.model.errors import UsageError


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What each thing costs. The sections follow the order of what matters most."""

    # The melody.
    melody_string_three: int = 25
    """The tune sings on strings 1 and 2; the third is duller."""
    melody_string_four: int = 110
    """On string 4 the tune is buried among the accompaniment."""
    melody_string_low: int = 260
    """On strings 5 and 6 it is a bass, not a tune."""
    melody_below_c4_per_semitone: int = 22
    """For each quarter that the tune spends below C4: no room is left under it, and it is dull."""
    melody_above_e5_per_semitone: int = 10
    """For each quarter above E5: the tune is thin, and the hand is far from the open basses."""
    melody_over_level: int = 600
    """A melody note above the level's highest fret; allowed only because the melody is never cut …"""
    melody_over_level_per_fret: int = 90
    """… and for each fret that it lies above."""
    peak_over_stopped: int = 1500
    """A stopped note under a peak of the tune, which the level lets pass over open strings only."""
    melody_changed: int = 900
    """A phrase moved by an octave: the tune's shape is broken once."""

    # The melody made simpler, where that is asked for: which notes stay, and when they begin.
    melody_note_dropped: int = 60
    """Any note left out: a rhythm that can be evened with all its notes keeps them."""
    melody_note_dropped_per_quarter: int = 40
    """… and for each quarter that it lasted: long notes carry the line."""
    melody_pulse_note_dropped: int = 40
    """… a note on the pulse, where the ear expects the tune."""
    melody_corner_dropped: int = 40
    """… a note where the line turns or leaps; a passing note is not missed."""
    melody_chord_tone_dropped: int = 30
    """… a tone of the chord."""
    melody_syllable_dropped: int = 50
    """… a note with a syllable of its own: the word has to share another note."""
    melody_upbeat_dropped: int = 10
    """… the last note before the next beat: it leads the line on."""
    melody_ornament_kept: int = 40
    """A note shorter than a sixteenth that is kept becomes a note of the line, and it never was one."""
    melody_repetition_made: int = 35
    """Two notes of one pitch come side by side: the line stands still where it moved."""
    melody_syncopated: int = 100
    """A note that begins off the beat and lasts over it, where it could stand on the beat."""
    melody_delayed_per_quarter: int = 30
    """A note that begins later than written."""
    melody_advanced_per_quarter: int = 60
    """… or earlier: an anticipation is undone by waiting for the beat."""
    melody_shortened_per_quarter: int = 40
    """A note that becomes shorter: what was long in the tune should still be."""

    # The bass.
    bass_missing: int = 960
    """Where a bass is due and none is struck, the harmony has no floor."""
    bass_fifth: int = 400
    """The fifth in the bass where the root is due (second inversion sounds unsettled)."""
    bass_third: int = 370
    """The third in the bass where nothing comes of it (first inversion: lighter). At 180 a hand was spared
    with it ten times in a hundred bars of 71 songs; with this price, and those that grew with it, five times."""
    bass_seventh: int = 370
    """The seventh in the bass (third inversion asks to be resolved)."""
    bass_other: int = 420
    """A tension in the bass blurs the chord."""
    bass_again_fifth: int = 0
    """The fifth when the root has already been heard in the same harmony: an alternating bass."""
    bass_again_third: int = 180
    """The third when the harmony has been told: lighter, and seldom where the thumb goes by itself."""
    bass_again_root: int = 20
    """The root struck again: a little plain."""
    bass_slash_ignored: int = 880
    """The chord symbol names its bass; another one is hardly better than none."""
    bass_high_per_semitone: int = 12
    """Each semitone above C3 takes weight from the bass and room from the inner voice."""
    bass_inverted_at_end: int = 250
    """The piece does not close: its last chord stands on another bass than its own; still better than none."""
    bass_inverted_at_cadence: int = 250
    """The last dominant stands on another bass than its own: the step into the last chord that makes up for it
    elsewhere makes a weak close. Together still less than no bass."""
    bass_line_step: int = -135
    """Less than nothing: any other step to or from a third or seventh in the bass makes a line; so much for each,
    and between two steps the third is hardly dearer than a root that leaps there and back."""
    bass_leads: int = -170
    """Less than nothing: another bass goes by step where it has to go, a third up or a seventh down into the next
    chord, and a seventh that has fallen has resolved; it costs little more than a plain leap then."""
    bass_pedal: int = -25
    """Less than nothing: the bass stays while the harmony moves over it, as one tone of both chords."""
    bass_hold_lost: int = 300
    """A bass that is let go before its time (once). Less than parallels with the tune or a missing third, and it was
    let go for an eighth to hide the one, or to reach for the other."""
    bass_hold_lost_per_quarter: int = 150
    """… and for each quarter that is lost."""
    bass_repeated: int = 90
    """In an alternating bass the same note twice running: the thumb is to go to and fro."""
    bass_leap_per_semitone: int = 4
    """A bass line moves by step or by fourth and fifth; each semitone beyond a fifth."""
    bass_leap: int = 12
    """A bass that leaps where it could have stepped."""
    seventh_unresolved: int = 120
    """A chord's seventh, in the bass or the inner voice, neither falls by step nor stays in the next chord."""
    leading_note_unresolved: int = 60
    """The third of a dominant neither rises to the next root nor stays; milder, for inner voices may fall."""
    parallel_perfects: int = 310
    """Melody and bass in parallel fifths or octaves lose their independence."""

    # The inner voice and the motion.
    motion_gap: int = 650
    """An eighth on which nothing is struck where the texture keeps running."""
    chord_missing: int = 480
    """Where the texture strikes a chord there is none: the pattern has a hole, though something moves."""
    chord_thinned: int = 140
    """A chord with one note less than it could have."""
    inner_cramped_missing: int = 160
    """No inner note where the tune hardly leaves room for one: less than a bass that is let go for it."""
    inner_hold_lost: int = 40
    """An inner note that is let go before its time (once): less than a bass, for the ear follows it less."""
    inner_hold_lost_per_quarter: int = 25
    """… and for each quarter that is lost."""
    ring_lost: int = 110
    """A note of an arpeggio that stops before the pattern is over: it is written short, but meant to ring."""
    inner_fifth: int = 22
    """Third and seventh tell the chord; the fifth only fills it."""
    inner_root: int = 28
    """The root is in the bass already."""
    inner_sixth: int = 6
    inner_suspended: int = 4
    inner_ninth: int = 30
    inner_tension: int = 60
    """Elevenths and thirteenths are for the melody to play with."""
    inner_slash_bass: int = 70
    third_missing: int = 410
    """A bar of harmony in which its third (or the tone that stands for it) is never heard."""
    third_cramped_missing: int = 240
    """… where the tune lies so low that it would only make the bass muddy."""
    seventh_missing: int = 140
    inner_repeated: int = 42
    """The same inner note twice running is a hammer, not a pattern."""
    inner_leap_per_semitone: int = 5
    """Each semitone beyond a fifth between neighbouring inner notes."""
    inner_common_tone: int = 0
    """A tone that both chords have, kept in the inner voice: the smoothest way, and no hammer."""
    inner_leap_at_change: int = 12
    """An inner voice that leaps into the next chord where it could have stepped, like a bass."""
    inner_into_bass: int = -12
    """Less than nothing: an inner note goes on by step as the bass of the next harmony, as good as a step within its
    own voice."""
    inner_close_to_melody: int = 90
    """Nearer than a minor third under the melody the inner note covers it; so does a bass."""
    inner_far_below_melody_per_semitone: int = 2
    """Each semitone beyond an octave: a hole in the middle."""
    inner_high: int = 18
    """Each semitone above G4: the inner voice competes with the tune."""
    muddy_interval_per_semitone: int = 20
    """An interval above the bass that is too narrow for its depth; for each semitone below the lowest
    place where it is clear (the table is in ``arranging.voice_leading``). A third on low G costs 80."""

    # The left hand.
    finger_pressed: int = 6
    """Every finger that has to be put down; open strings are free and ring."""
    middle_finger: int = 1
    """Where all else is equal people take the lower number."""
    ring_finger: int = 8
    """The third is less free than the second."""
    little_finger: int = 18
    """The fourth finger is the weakest."""
    high_fret_per_fret: int = 4
    """Each fret above the fourth: harder to read and further from home."""
    extension_per_fret: int = 27
    """Each fret by which two fingers open wider than one fret a finger."""
    extension_from_barre_per_fret: int = 12
    """… where one of them lies in a barre: less, for each note of the barre counts."""
    contraction_per_fret: int = 4
    """Each fret by which they stand closer, beyond the first: by one they close without a thought …"""
    crowded_by_barre_per_fret: int = 11
    """… but at the fret next to a barre the flat finger leaves the others no room to fold."""
    neighbour_to_treble_per_string: int = 2
    """Each string by which a finger lies nearer to string 1 than the one numbered before it: the hand
    leans to the basses, and a longer finger lies there by itself."""
    ring_on_string_one: int = 19
    """The third finger on string 1, two frets from the first, the second not beside it: there the
    little finger lies nearer."""
    middle_beside_index: int = 140
    """The second finger on string 1 beside the tip of the first on string 2, another finger towards the
    basses: there the first lies flat, as in F, in all 152 shapes of people. As much as a barre laid
    and kept for a bar, so that none is saved by it."""
    lone_finger_off_its_fret: int = 5
    """A single stopped note, at the first four frets, under another finger than that of its fret: in first position
    each finger has its fret. As little as keeps the scales there; with two fingers down a chord has its own order."""
    stretch_beyond_comfort: int = 9
    """Two finger tips opened to their outermost limit; in proportion between comfort and limit.
    Dearer, and an open C chord would be taken with the little finger, as nobody takes it."""
    half_barre_laid: int = 85
    """Laid in time. A barre that is there from the start costs half as much: before the first note there is time …"""
    full_barre_laid: int = 120
    """… and over five or six strings more of the finger has to stop its strings."""
    hinge_barre_laid: int = 30
    """Finger 1 is there already and only leans over, at a level that knows the hinge barre."""
    hinge_over_level: int = 150
    """… at a level that does not, on top of the barre."""
    barre_over_silent_string: int = 20
    """A barre with a silent string between its notes: tips do that with less strength, and let it be."""
    barre_beside_open_per_string: int = 3
    """An open string beside a barre, for each string under it: the flat finger is kept off it."""
    small_barre_per_string: int = 25
    """Finger 2, 3 or 4 laid flat, for each string that it stops so."""
    small_barre_below_string: int = 18
    """… and a higher-pitched string that sounds past its tip, which it must not touch."""
    half_barre_kept_per_quarter: int = 12
    """A barre tires the hand for as long as it is kept …"""
    full_barre_kept_per_quarter: int = 24
    """… over five or six strings twice as much."""
    shift: int = 14
    """The hand changes position at all."""
    shift_per_100_mm: int = 95
    """… and by how far."""
    shift_over_level: int = 950
    """A shift farther than the level allows between neighbouring notes."""
    shift_hasty: int = 700
    """A shift straight from a note that is too short for it: the level has no time to shift there."""
    finger_jump: int = 46
    """A finger that must leave one string for another at the instant its note ends."""
    finger_jump_per_100_mm: int = 70
    finger_exchanged: int = 46
    """A note struck again at its place with another finger, though the one that is there could stay: as a jump, for
    the place is left and taken. From chord to chord the hand lifts, and people exchange fingers freely."""
    hand_lifted_per_100_mm: int = 40
    """… in a comfortable time, where no note goes on, and a chord of three notes is struck or neither note is the
    tune's: the hand lifts as a whole, as from chord to chord, and only the way counts."""
    melody_gap: int = 30
    """… and when that note is the tune's, the line breaks off for an instant."""
    guide_finger: int = -20
    """Less than nothing: a finger that slides along its string leads the hand through a shift. Within a position
    it leads nowhere."""

    campanella: int = -4
    """Less than nothing: the tune steps to a neighbouring string and rings on, like bells. A matter of taste, so it
    only decides where little else does; ten times as much seeks it."""

    eased_stopped_note: int = 240
    """A stopped bass or inner note in a bar that asks more than the level has: open strings are sought, a third in the
    bass rather than none of the inner notes."""

    # The right hand.
    thumb_on_string_three: int = 36
    """The thumb is at home on strings 4 to 6; for a bass or a full chord it reaches string 3."""
    thumb_on_string_high: int = 160
    """On strings 1 and 2 it lies under the fingers."""
    melody_by_thumb: int = 90
    """The tune wants the fingers: a thumb stroke is thick, and the next bass needs the thumb."""
    finger_on_string_four: int = 24
    """Fingers are at home on strings 1 to 3; an inner note on string 4 takes i from there."""
    finger_on_string_low: int = 140
    """On strings 5 and 6 a finger pulls the hand out of place."""
    finger_from_home_per_string: int = 8
    """i rests on string 3, m on 2, a on 1; for each string that a finger plucks away from its own."""
    bass_by_finger: int = 40
    """The bass is the thumb's, even on string 3: it sounds alike, and the fingers are free."""
    finger_repeated: int = 150
    """i, m or a twice running on quick notes: the finger has no time to prepare."""
    chord_repeated: int = 10
    """… for each finger, where both strokes take two fingers or more: the hand moves as one."""
    thumb_repeated: int = 70
    """The thumb repeats better than a finger, but a row of quick thumbs is heavy."""
    ring_beside_middle: int = 4
    """m after a, or a after m: the two share a tendon, i alternates with more ease."""
    ring_in_run: int = 20
    """Quick notes on one string alternate i and m; a is the slowest of the three."""
    ring_middle_ring: int = 40
    """a-m-a in quick notes (Skarha 2018)."""
    fingers_crossed: int = 40
    """In quick notes a lower finger goes to a higher-pitched string than a higher finger, or back."""
    pattern_left: int = 60
    """A stroke plucked otherwise than in the other bars of the same pattern: the hand has to think."""

    # Key, tuning and capo.
    bar_over_level: int = 300
    """A bar that asks more points than the level has, or passes another limit of it, though all was taken from it that
    may be, in a key where its tune alone does not: as much as a bass that is let go."""
    signature_per_sign: int = 3
    """For each bar and each sharp or flat in the signature: reading."""
    signature_beyond_per_sign: int = 45
    """… and for each sign beyond four sharps or one flat, where few players read with ease."""
    string_retuned: int = 100
    """A string is tuned down before the piece and up again after it, and drifts in between."""
    retuned_string_per_bar: int = 10
    """… and for each bar: what is read on it lies two frets higher than the hand knows."""
    capo_set: int = 60
    """A capo is put on, the strings are tuned again, and it comes off afterwards."""
    capo_per_fret: int = 20
    """… and each fret takes a semitone from the low strings and a fret from the high ones."""

    def turned(self, factors: Mapping[str, float]) -> "Prices":
        """These prices with some turned up or down, by factors from 0 to ``HIGHEST_FACTOR``.

        Raises UsageError for an unknown name or another factor.
        """
        for name, factor in factors.items():
            if name not in PRICE_NAMES:
                raise UsageError(f"prices: there is no price named {name}.")
            if not 0 <= factor <= HIGHEST_FACTOR:
                raise UsageError(
                    f"prices: {name} = {factor}: a factor from 0 to {HIGHEST_FACTOR:g} is needed."
                )
        return replace(self, **{name: round(getattr(self, name) * f) for name, f in factors.items()})


HIGHEST_FACTOR = 100.0
"""A hundredfold price is a ban already."""
PRICE_NAMES = tuple(field.name for field in fields(Prices))
