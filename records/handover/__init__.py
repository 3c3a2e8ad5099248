"""Floor 4: what is handed over of the record, on a page or in a pack of documents.

What lives here: how figures are written (figures.py), a path as the things light goes through
(strip.py), and its pictures: level by hop (path_picture.py) and level against distance
(distance_picture.py). A picture is a list of shapes (shapes.py), painted as SVG with the classes
of the page's style sheet (picture_svg.py), or into a PDF with the looks of looks.py; `alone` in
standing_alone.py makes a file of an SVG that needs no style sheet. pack/ puts the as-built pack of
a place together, exports/ makes its CSV files. What must not: queries of its own, and any
knowledge of pages or requests. Start from `drawn` in path_picture.py, `as_built_pack` in
pack/document.py, or `export` in exports/files.py.
"""
