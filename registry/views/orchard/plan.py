"""The plan of an orchard: trees set into rows and positions, a cell in marks and words."""

from collections import defaultdict
from dataclasses import dataclass

from registry.calc.pedigree.mixtures import NOT_STATED, mixture_label
from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.selectors.orchard.orchard import UNKNOWN_THEN
from registry.selectors.pedigree.lineage import tree_lineages
from registry.views.shared.addresses import record_url

# A typing error must not draw ten thousand empty positions: past this span only positions in use are drawn.
_SPAN_MAX = 300

# status: (mark, word); the marks differ in shape, so that they also work in black and white
STATUS_MARKS = {
    TreeStatus.STANDING: ("●", "standing"),
    TreeStatus.ROGUED: ("✕", "rogued"),
    TreeStatus.DEAD: ("✝", "dead"),
    UNKNOWN_THEN: ("–", "gone, day not known"),
}
FLAG_WORDS = {
    "go": ("▼", "to be rogued"),
    "waits": ("▽", "to be rogued once a second person confirms it"),
    "question": ("?", "identity in question"),
}


@dataclass(frozen=True, slots=True)
class PlanTree:
    """A tree on the plan: `shown` is what was chosen to be shown, `flags` are (mark, word), `words` say everything."""

    code: str
    url: str
    status: str
    mark: str
    shown: str
    flags: tuple
    words: str


@dataclass(frozen=True, slots=True)
class PlanGrid:
    """One block: `positions` are the columns, `rows` pairs of a row number and its cells, each a list of PlanTree."""

    id: str
    block: str
    positions: list
    rows: list


def plan_grids(trees, draw):
    """The grids of the blocks, and the trees that have no position. `draw` makes a PlanTree of a tree."""
    blocks, without = defaultdict(lambda: defaultdict(list)), []
    for tree in trees:
        if tree.row is None or tree.position is None:
            without.append(tree)
        else:
            blocks[tree.block.strip()][tree.row, tree.position].append(tree)
    return [_grid(number, block, blocks[block], draw) for number, block in enumerate(sorted(blocks), start=1)], without


def _grid(number, block, places, draw):
    rows, positions = (_span({place[side] for place in places}) for side in (0, 1))
    # a tree replanted at the place of one that is gone comes first
    cells = {place: [draw(tree) for tree in sorted(trees, key=_standing_first)] for place, trees in places.items()}
    return PlanGrid(f"plan-{number}", block, positions, [(row, [cells.get((row, position), []) for position in positions]) for row in rows])


def _standing_first(tree):
    return tree.status_then != TreeStatus.STANDING, tree.code


def _span(used):
    low, high = min(used), max(used)
    return list(range(low, high + 1)) if high - low < _SPAN_MAX else sorted(used)


def rating_words(rating):
    return f"{rating.score.normalize():f} ({day_words(rating.rated_on)})"


def lineage_words(stated, mixture):
    """What the tree states; else what follows from its parents, marked as such; blank where neither is known."""
    if stated.strip():
        return stated
    return "" if not mixture or set(mixture) == {NOT_STATED} else f"{mixture_label(mixture)}, by its parents"


def with_lineage(trees):
    """The trees with `line_words` and `source_words`: as stated, or by their parents. One query for each generation."""
    derived = tree_lineages([tree.pk for tree in trees if not (tree.recurrent_line.strip() and tree.source_of_resistance.strip())])
    for tree in trees:
        lineage = derived.get(tree.pk)
        tree.line_words = lineage_words(tree.recurrent_line, lineage and lineage.line)
        tree.source_words = lineage_words(tree.source_of_resistance, lineage and lineage.source)
    return trees


def tree_drawer(show, ratings):
    """A function that draws one tree (from `with_lineage`). `ratings` is {tree key: {scale key: rating}}."""

    def draw(tree):
        mark, word = STATUS_MARKS[tree.status_then]
        flags = [FLAG_WORDS["waits" if tree.is_waiting else "go"]] if tree_to_go(tree) else []
        flags += [FLAG_WORDS["question"]] if tree.questioned_then else []
        facts = {
            "status": word,
            "generation": tree.generation_code,
            "line": tree.line_words,
            "source": tree.source_words,
        } | {
            f"rating-{scale}": f"{rating.score.normalize():f}, {rating.rated_on.year}" for scale, rating in ratings.get(tree.pk, {}).items()
        }
        said = [word, *(text for _mark, text in flags), facts["generation"], facts["line"] and f"line {facts['line']}"]
        said += [facts["source"] and f"source {facts['source']}"]
        said += [f"{rating.scale} {rating_words(rating)}" for rating in ratings.get(tree.pk, {}).values()]
        words = f"{tree.code}: {', '.join(part for part in said if part)}"
        return PlanTree(tree.code, record_url(tree), tree.status_then, mark, facts.get(show) or "–", tuple(flags), words)

    return draw


def tree_to_go(tree):
    return tree.decision_then == Decision.ROGUED and tree.status_then == TreeStatus.STANDING


def spot_words(tree):
    """Where in its orchard a tree is."""
    parts = [tree.block and f"block {tree.block}", tree.plot and f"plot {tree.plot}"]
    parts += [f"row {tree.row}" if tree.row is not None else "", f"position {tree.position}" if tree.position is not None else ""]
    return ", ".join(part for part in parts if part)


def place_words(tree):
    """The orchard of a tree and where in it the tree is."""
    return ", ".join(filter(None, [tree.orchard, spot_words(tree)]))
