# ruff: noqa: PLC0415 - imports wait for Django
"""Labels a second, beside bare reportlab and HTML to PDF; QR codes, beside qrcode's default.

    python -m tests.bench.labels            10,000 labels, as the targets say
    python -m tests.bench.labels --small    500, to see that it runs

Each figure comes from a process of its own, so that peak memory is that figure's, and counts that
process's time on its core, so that a busy machine changes it less. Absolute times are this
machine's; the ratios carry over. HTML to PDF draws a part of the labels only: it takes a hundred
times as long, and memory for every one of them. Where its system libraries are missing, the line
says that it was not measured.
"""

import argparse
import itertools
import json
import os
import random
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

COUNT = 10_000
SMALL_COUNT = 500
HTML_COUNT = 300
HOST = "LABELS.ORG"


@dataclass(frozen=True, slots=True)
class Target:
    """What a figure should reach, and what it stands beside."""

    task: str
    count: int
    least_per_s: float
    most_mb: float
    beside: tuple[str, ...]


def targets(count):
    return (
        Target("sheets", count // 10, count // 10 / 2, 150, ("bare_reportlab",)),
        Target("sheets", count, 1000, 200, ("bare_reportlab", "html_to_pdf")),
        Target("roll_pictures", count // 10, 0, 200, ("sheets",)),
        Target("symbols", count, 2500, 200, ("symbols_by_default",)),
    )


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true", help=f"{SMALL_COUNT} labels only")
    parser.add_argument("--task", choices=TASKS, help=argparse.SUPPRESS)
    parser.add_argument("--count", type=int, default=COUNT, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.task:
        json.dump(measured(arguments.task, arguments.count), sys.stdout)
        return
    report(SMALL_COUNT if arguments.small else COUNT)


def report(count):
    """Print one line a target: ours, the target, what it stands beside, and the ratio."""
    print(
        f"{'labels':<16}{'count':>8}{'a second':>10}{'target':>8}{'peak MB':>9}{'most':>6}  beside"
    )
    for target in targets(count):
        ours = _in_own_process(target.task, target.count)
        print(
            f"{target.task:<16}{target.count:>8}{ours['per_s']:>10.0f}{target.least_per_s:>8.0f}"
            f"{ours['peak_mb']:>9.0f}{target.most_mb:>6.0f}  "
            + "; ".join(_compared(ours, name, target.count) for name in target.beside)
        )


def _compared(ours, name, count):
    """Return in words what another way did, and how many times as fast ours is."""
    count = min(count, HTML_COUNT) if name == "html_to_pdf" else count
    try:
        other = _in_own_process(name, count)
    except subprocess.CalledProcessError as error:
        if name != "html_to_pdf":
            raise
        why = error.stderr.strip().splitlines()[-1]
        return f"{name} NOT MEASURED: {why}"
    return (
        f"{name} {other['per_s']:.0f} a second of {count}, {other['peak_mb']:.0f} MB, "
        f"ratio {ours['per_s'] / other['per_s']:.2f}"
    )


def _in_own_process(task, count):
    command = [sys.executable, "-m", "tests.bench.labels", "--task", task, "--count", str(count)]
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(command, check=True, capture_output=True, text=True, cwd=root)
    return json.loads(done.stdout)


def measured(task, count):
    """Run a task once and return its rate and this process's peak memory."""
    _set_up()
    prepare, work = TASKS[task]
    prepared = prepare(count)
    began = time.process_time()
    work(prepared)
    seconds = time.process_time() - began
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"per_s": count / seconds, "peak_mb": peak_mb}


def _set_up():
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    django.setup()


def _ports(count):
    """Yield port labels; made as they are taken, as a print run makes them."""
    from labels.design import label
    from records.models import tag_code

    draw = random.Random(1)
    numbers = (draw.randrange(tag_code.NUMBER_COUNT) for _ in itertools.count())
    for number in range(1, count + 1):
        code = tag_code.issue(numbers, set().__contains__)
        yield label(
            "port",
            code=code,
            number=str(number % 64),
            equipment=f"SP-{number // 64:03d}",
            place_code="C2-R1",
        )


def _print_sheets(labels):
    from labels import seeds
    from labels.design import LabelSettings
    from labels.sheet_pdf import sheet_pdf

    sheet_pdf(labels, seeds.sheets()["A4-5x13"], LabelSettings(HOST))


def _print_roll_pictures(labels):
    from labels import seeds
    from labels.design import LabelSettings
    from labels.roll_png import roll_png

    roll_png(labels, seeds.rolls()["die-51x25"], LabelSettings(HOST))


def _laid_out(count):
    """Lay everything out beforehand, so that only the drawing is left to time."""
    from labels import seeds
    from labels.design import LabelSettings
    from labels.layout import lay_out

    sheet, settings = seeds.sheets()["A4-5x13"], LabelSettings(HOST)
    return [lay_out(label, sheet.face(), settings) for label in _ports(count)]


def _draw_with_bare_reportlab(drawings):
    """Draw the same rectangles and texts by the library's own calls, a rectangle at a time."""
    from io import BytesIO

    from reportlab.lib.units import mm
    from reportlab.pdfgen.canvas import Canvas

    from labels import seeds

    sheet = seeds.sheets()["A4-5x13"]
    canvas = Canvas(BytesIO(), pagesize=(210 * mm, 297 * mm), invariant=1, pageCompression=1)
    page = 0
    for drawing, cell in zip(drawings, sheet.cells(), strict=False):
        if cell.page != page:
            canvas.showPage()
            page = cell.page
        module = drawing.qr.size.module_mm * mm
        canvas.saveState()
        canvas.translate((cell.x_mm + drawing.qr.x_mm) * mm, (297 - cell.y_mm) * mm)
        canvas.scale(module, -module)
        path = canvas.beginPath()
        for x, y, dark in drawing.qr.symbol.runs:
            path.rect(x, y, dark, 1)
        canvas.drawPath(path, stroke=0, fill=1)
        canvas.restoreState()
        for text in drawing.texts:
            canvas.setFont(text.runs[0].font, text.size_mm * mm)
            x, y = cell.x_mm + text.x_mm, 297 - cell.y_mm - text.baseline_mm
            canvas.drawString(x * mm, y * mm, text.text)
    canvas.save()


def _as_html(count):
    """Write the labels, laid out beforehand, as a page a sheet with the same rectangles."""
    from labels import seeds
    from labels.typefaces import font_file

    sheet = seeds.sheets()["A4-5x13"]
    drawings = _laid_out(count)
    faces = {text.runs[0].font for drawing in drawings for text in drawing.texts}
    fonts = "".join(
        f"@font-face {{ font-family: {name}; src: url({font_file(name).as_uri()}); }}"
        for name in faces
    )
    pages = itertools.groupby(
        zip(drawings, sheet.cells(), strict=False), key=lambda placed: placed[1].page
    )
    body = "".join(
        f"<section>{''.join(_html_of(*each) for each in placed)}</section>" for _, placed in pages
    )
    style = (
        "@page { size: A4; margin: 0 } section { position: relative; width: 210mm; height: 297mm;"
        "break-after: page } section * { position: absolute; white-space: pre; line-height: 1 }"
    )
    return f"<!doctype html><style>{fonts}{style}</style>{body}"


def _html_of(drawing, cell):
    qr = drawing.qr
    side, module = qr.symbol.side_modules, qr.size.module_mm
    left, top = cell.x_mm + qr.x_mm + 4 * module, cell.y_mm + qr.y_mm + 4 * module
    path = "".join(f"M{x} {y}h{dark}v1h-{dark}z" for x, y, dark in qr.symbol.runs)
    drawn = (
        f'<svg viewBox="0 0 {side} {side}" style="left:{left}mm;top:{top}mm;'
        f'width:{side * module}mm;height:{side * module}mm"><path d="{path}"/></svg>'
    )
    for text in drawing.texts:
        x, y = cell.x_mm + text.x_mm, cell.y_mm + text.baseline_mm - text.size_mm
        drawn += (
            f'<span style="left:{x}mm;top:{y}mm;font:{text.size_mm}mm {text.runs[0].font}">'
            f"{text.text}</span>"
        )
    return drawn


def _draw_with_html_to_pdf(page):
    from weasyprint import HTML

    HTML(string=page).write_pdf()


def _links(count):
    from labels.qr import link

    return [link(label.code, HOST) for label in _ports(count)]


def _encode(links):
    from labels.qr import encode

    for text in links:
        encode(text, 2, "Q")


def _encode_by_default(links):
    from qrcode import constants
    from qrcode.main import QRCode

    for text in links:
        symbol = QRCode(error_correction=constants.ERROR_CORRECT_Q)
        symbol.add_data(text)
        symbol.make()


TASKS = {
    "sheets": (_ports, _print_sheets),
    "roll_pictures": (_ports, _print_roll_pictures),
    "bare_reportlab": (_laid_out, _draw_with_bare_reportlab),
    "html_to_pdf": (_as_html, _draw_with_html_to_pdf),
    "symbols": (_links, _encode),
    "symbols_by_default": (_links, _encode_by_default),
}

if __name__ == "__main__":
    main()
