"""The windows of plan and watch over a few cooks of meat that they were not shaped after; the benchmark takes 200."""

from tests.benchmarks import meat_windows, strange_meat


def test_most_plans_hold_what_came():
    """60 cooks: a window that holds 80 % holds 68 % or more in all but 2 of 100 such tests (binomial, 41 of 60)."""
    assert meat_windows.plan_score(strange_meat.play(60, 7)).held >= 0.68


def test_most_bands_of_the_watch_hold_what_the_probe_read():
    """Six cooks: readings of one cook lie together, so no more is asked than that most hold."""
    scores = meat_windows.watch_scores(strange_meat.play(6, 5))
    assert [one.what for one in scores] == ["probe 2 h ahead", "probe 4 h ahead"]
    assert all(one.held >= 0.6 for one in scores)


def test_strange_meat_shows_what_cooks_see():
    """A plateau, and an end by feel from the low 80s to 99 C: otherwise it would judge nothing."""
    cooks = strange_meat.play(30, 11)
    ended = meat_windows.ended(cooks)
    assert len(ended) >= 25
    last = len(cooks.minutes) - 1
    at_end = sorted(float(cooks.probe[min(int(60 * cooks.ready[number]), last), number]) for number in ended)
    assert at_end[len(at_end) // 10] >= 80.0
    assert at_end[-len(at_end) // 10] <= 101.0
