"""A page or drawing taken apart, and words that a careless page would take for code."""

from html.parser import HTMLParser

EVIL = "<script>alert('x')</script> & \"pipe\""
VOID = {"meta", "link", "br", "hr", "img", "input"}


class Reader(HTMLParser):
    """Takes a page apart: tags with attributes, words, and whether every tag is closed in turn."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.open, self.words = [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not self.open or self.open[-1] not in ("style", "script"):
            self.words.append(data.strip())

    def of(self, name):
        """Attributes of all tags of this name."""
        return [attributes for tag, attributes in self.tags if tag == name]
