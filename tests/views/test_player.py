"""What a player of a layout's notes offers, and what it leaves out."""

from made_records import layout, note

from optimizer.analysis.sound import sound_of
from optimizer.views.player import player_of


def test_silent_notes_are_told_and_offered_nowhere():
    silent = note("C5", None, openness=(1.0, 1.0), frequency_hz=None, status="silent")
    made = layout(notes=[note("A4", 1.0, openness=(0.0, 0.0)), note("B4", 2.0, alternate=True, touches="kX"), silent])
    player = player_of(sound_of(made))
    assert [words for _, words in player.notes] == ["A4", "B4, kX"]
    assert [words for _, words in player.drones] == ["A4"]
    assert "Left out, as nothing sounds near: C5." in player.said
    assert player_of(sound_of(layout(notes=[silent]))) is None
