"""A plan file that a hand has written stays as it is, but for what changes."""

from hypothesis import given

from apoyando.model.plan import Plan, Section
from apoyando.model.sheet import Marking
from apoyando.reading import change_plan, read_plan, rewrite_plan, write_plan
from reading.test_plan import plans

MINE = """# for Anna's wedding
level = "early"   # she counts on it
key = "G"

[page]
staff = 9   # without glasses

# the long note
[[locks]]
bar = 3   # with the cello
beat = 1.0
voice = "melody"
string = 2

# before the last line
[[locks]]
bar = 7
barre = false
# to the end
"""


def change(text: str, **entries: object) -> str:
    plan = read_plan(text, "mine.toml")
    changed = change_plan(plan, entries, "your choice")
    kept = rewrite_plan(text, changed)
    assert read_plan(kept, "mine.toml") == changed
    return kept


def without(text: str, *lines: str) -> str:
    for line in lines:
        assert line in text
        text = text.replace(line, "", 1)
    return text


def test_another_value_stands_where_the_old_one_stood() -> None:
    assert change(MINE, key="D") == MINE.replace('key = "G"', 'key = "D"')


def test_a_new_entry_comes_before_the_first_table_and_all_else_stays() -> None:
    assert without(change(MINE, capo=2), "capo = 2\n") == MINE


def test_of_the_page_only_what_is_different_is_written() -> None:
    kept = change(MINE, page={"staff": 9.0, "marking": "full"})

    assert "staff = 9   # without glasses\n" in kept
    assert without(kept, 'marking = "full"\n') == MINE
    assert read_plan(kept, "mine.toml").page.marking is Marking.FULL


def test_a_page_is_added_where_there_is_none() -> None:
    assert change("# mine\n", page={"staff": 10.0}) == "# mine\n\n[page]\nstaff = 10.0\n"


def test_a_lock_that_is_taken_out_leaves_the_others_with_their_comments() -> None:
    plan = read_plan(MINE, "mine.toml")
    kept = rewrite_plan(MINE, Plan(level="early", key="G", page=plan.page, locks=plan.locks[:1]))

    assert "bar = 3   # with the cello\n" in kept
    assert "barre" not in kept
    assert read_plan(kept, "mine.toml").locks == plan.locks[:1]


def test_a_lock_that_is_added_comes_after_the_others() -> None:
    plan = read_plan(MINE, "mine.toml")
    more = read_plan("[[locks]]\nbar = 9\nbarre = false\n", "mine.toml").locks
    kept = rewrite_plan(MINE, Plan(level="early", key="G", page=plan.page, locks=(*plan.locks, *more)))

    assert kept.index("bar = 3   # with the cello") < kept.index("bar = 7") < kept.index("bar = 9")


def test_what_stood_in_a_comment_to_be_opened_is_opened_there() -> None:
    text = write_plan(Plan()).replace("# The key by", "# by ear\n# The key by")
    kept = change(text, minutes=2.0)

    assert kept == text.replace("# minutes = 2.5", "minutes = 2.0")


def test_a_file_that_no_hand_has_touched_is_written_in_its_usual_order() -> None:
    plan = Plan(key="G", sections=(Section("3", "bare"),))
    assert rewrite_plan(write_plan(Plan()), plan) == write_plan(plan)


def test_the_same_plan_leaves_every_byte() -> None:
    assert rewrite_plan(MINE, read_plan(MINE, "mine.toml")) == MINE


@given(plans, plans)
def test_what_is_written_is_always_the_plan(before: Plan, after: Plan) -> None:
    text = "# mine\n" + write_plan(before)
    assert read_plan(rewrite_plan(text, after), "mine.toml") == after
