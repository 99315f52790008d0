"""What parts weigh: `kb/parts.yaml`, a name and kilograms a line."""

import re

from bot.cards.strict_yaml import Mapping, Text, parse
from bot.model.place import Fault

MOST_LETTERS = 60_000
"""Some thousand parts."""

_KG = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,3})?")


def read_weights(text: str, path: str) -> dict[str, float] | tuple[Fault, ...]:
    """Part -> kilograms, in the order written, or every fault by its line."""
    tree = parse(text, path, most=MOST_LETTERS)
    if isinstance(tree, Fault):
        return (tree,)
    if not isinstance(tree, Mapping):
        return (Fault(tree.place, "write 'part: kilograms', one to a line"),)
    weights: dict[str, float] = {}
    faults: list[Fault] = []
    for name, value in tree.pairs:
        said = value.value if isinstance(value, Text) else "a list"
        if _KG.fullmatch(said):
            weights[name.value] = float(said)
        else:
            says = f"'{said}' is no weight in kilograms; write e.g. 12 or 0.5"
            faults.append(Fault(name.place, says))
    return tuple(faults) or weights
