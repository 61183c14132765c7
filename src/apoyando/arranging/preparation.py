"""What the plan asks of a song before its key is chosen: its form laid out."""

from dataclasses import dataclass

from apoyando.arranging.form import lay_out_form, lay_out_locks
from apoyando.model.form_steps import Form
from apoyando.model.plan import Plan
from apoyando.model.song import Song


@dataclass(frozen=True, slots=True)
class PreparedSong:
    """The song as it is to be arranged.

    ``plan`` has its locks on the bars of ``song``. ``form`` tells how they come from the song
    that was read; None where the form is as written.
    """

    song: Song
    plan: Plan
    form: Form | None = None


def prepare_song(song: Song, plan: Plan) -> PreparedSong:
    laid_out, form = lay_out_form(song, plan)
    return PreparedSong(laid_out, lay_out_locks(plan, song, laid_out, form), form)
