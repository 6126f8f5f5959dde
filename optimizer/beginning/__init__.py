"""A project file of one's own from a few answers: families of fingerings, textbook positions, the file's text."""
