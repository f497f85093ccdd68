"""What was asked for last is not computed again."""

from inkaccord.recall.recent import Recent


def test_the_last_results_are_remembered_by_value_and_older_ones_forgotten():
    asked = []

    def doubled(text: str, times: int = 2) -> str:
        asked.append((text, times))
        return text * times

    recent = Recent(2)
    for text, times in (("a", 2), ("a", 2), ("b", 2), ("a", 3), ("a", 3), ("a", 2)):
        assert recent(doubled, text, times=times) == text * times
    assert asked == [("a", 2), ("b", 2), ("a", 3), ("a", 2)]


def test_what_is_not_known_may_be_asked_of_another_and_is_known_then():
    def doubled(text: str) -> str:
        return text * 2

    class Other:
        def __call__(self, function, /, *args):
            return f"{function.__name__} {args[0]}, from elsewhere"

    recent = Recent(2)
    assert recent.before(Other())(doubled, "a") == "doubled a, from elsewhere"
    assert recent(doubled, "a") == "doubled a, from elsewhere"
    assert recent(doubled, "b") == "bb"
