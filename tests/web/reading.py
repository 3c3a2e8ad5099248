"""What the tests of the pages people read share: a plant, a signed-in client, words of a page."""

import html
import re

PLANT = """
    olt O x2
    splitter S 1:4
    splitter V 1:4
    panel P x2
    cable F 1200 m x2
    cable D1 30 m
    cable D2 30 m
    outlet U1 @1
    outlet U2 @2
    terminal T1 @1
    terminal T2 @2
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = P.1 = S
    S.1 = D1 ~ U1 - T1
    S.2 = D2 ~ U2 - T2
    book S.3 for 3
    bar S.4 broken tail
"""


def words(page):
    """Return what a page says, in one line, without its marks."""
    text = re.sub(r"<(style|script|title)\b.*?</\1>", " ", page.content.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).replace("\xa0", " ").split())


def main(page):
    """Return the part of a page that is its own, as HTML."""
    return page.content.decode().partition("<main")[2].partition("</main>")[0]
