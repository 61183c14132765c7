"""What the player has settled, as a list from which each can be taken out."""

from apoyando.desk.shown import show
from apoyando.model.plan import Plan
from apoyando.repertoire import OpenSong


def show_settled_of(song: OpenSong) -> str:
    plan = song.plan or Plan()
    return show("_settled.html", settled=[*map(str, plan.locks), *map(str, plan.sections)])
