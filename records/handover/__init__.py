"""Floor 4: what is handed over of the record, on a page or in a pack of documents.

What lives here: how figures are written (figures.py), a path as the things light goes through
(strip.py), and its pictures: level by hop (path_picture.py) and level against distance
(distance_picture.py). Both are SVG, drawn with the classes of the page's style sheet; `alone` in
standing_alone.py makes a file of one that needs no style sheet. What must not: queries of its
own, and any knowledge of pages or requests. Start from `drawn` in path_picture.py.
"""
