"""The practice pipes with a drawer of the lending shelf."""

from shelf import KEYED, PIPE, changed

DRAWER = """\
[stock]
name = "Lantern Hall drawer"
drill_mm = [5, 6, 7, 8, 9, 10, 11, 12]
reamer_mm = [6, 8, 10]
pad_mm = [8, 10, 12, 14, 16, 18, 20]
tube_mm = [[2.5, 0.5, 0.02], [3, 0.5, 0.03], [5, 1, 0.05]]
"""


def stocked(text=PIPE, drawer=DRAWER):
    """A project's text with a drawer."""
    return changed("[holes]\n", f"{drawer}\n[holes]\n", text)


def drilled(text=PIPE):
    """The practice pipe with all its holes drilled."""
    return stocked(text.replace("chimney_mm = 4 }", 'chimney_mm = 4, finish = "drill" }'))


STOCKED = stocked(KEYED)
