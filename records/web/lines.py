"""A line: its dwelling, its leg and how the light comes to it."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.handover.strip import stages
from records.queries.lines import LineAnswer, line
from records.queries.paths import Path, paths
from records.queries.tags import tags_on
from records.web import actions, crumbs
from records.web.past import as_asked


@as_asked
def line_page(request: HttpRequest, line_id: int) -> HttpResponse:
    """Show a line."""
    answer = line(line_id)
    if answer is None:
        raise Http404("There is no such line.")
    context = {
        "answer": answer,
        "line": answer.line,
        "crumbs": crumbs.down_to(answer.line.place),
        "paths": [(path, tuple(stages(path.hops))) for path in _paths(answer)],
        "actions": list(actions.on_line(answer)),
        "tags": tags_on("line", line_id),
    }
    return render(request, "records/line.html", context)


def _paths(answer: LineAnswer) -> list[Path]:
    """Return the paths to the dwelling's terminals through the line's leg, else to its leg."""
    if answer.leg_id is None:
        return []
    to_terminals = [path for point in answer.terminal_ids for path in paths(point)]
    through_leg = [path for path in to_terminals if path.lit.leg_id == answer.leg_id]
    return through_leg or paths(answer.leg_id)
