"""Five hundred project files changed at random: each loads, or is refused in sentences, and soon."""

from changed_demos import loading_or_told


def test_five_hundred_files_changed_at_random_load_or_are_told():
    share, seconds = loading_or_told(500)
    assert 0.02 < share < 0.8  # both kinds are met
    assert seconds < 0.02
