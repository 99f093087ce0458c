"""One picture per file, each a function from results to the bytes of an image.

The doors to the plotting library. Colours are those of Okabe & Ito (Color Universal Design, 2008),
which stay apart for colour-blind readers; line style and marks differ as well.
"""
