"""Name the colour of a fibre under the colour scheme of its cable.

A scheme is data, and crews meet many. It only helps to find a fibre: tube colours repeat in some
schemes, others end before the cable does, so a fibre's number is what it is known by. Colours are
names, to be shown as words; a swatch alone fails in poor light and for colour-blind eyes.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """A colour by its name, and the ring or tracer that tells it from its twin."""

    name: str
    mark: str = ""

    def __str__(self) -> str:
        return f"{self.name}, {self.mark}" if self.mark else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourScheme:
    """The colours of a scheme in their order: fibres within a tube, tubes within a cable.

    The order of the fibres goes on past the plain colours with ringed ones, as far as the scheme
    says. The group size is how many fibres a tube holds where the cable doesn't say.
    """

    name: str
    fibres: tuple[Colour, ...]
    tubes: tuple[Colour, ...]
    group_size: int

    def __post_init__(self) -> None:
        if self.group_size < 1:
            raise ValueError(f"group_size is {self.group_size}; a tube holds at least 1 fibre")


@dataclass(frozen=True, slots=True, kw_only=True)
class FibrePlace:
    """Where a fibre lies in its cable; a colour is None where the scheme ends before it."""

    tube: int
    tube_colour: Colour | None
    position: int
    fibre_colour: Colour | None

    def __str__(self) -> str:
        tube = _said(self.tube, self.tube_colour)
        return f"tube {tube}, fibre {_said(self.position, self.fibre_colour)}"


def place_of_fibre(
    scheme: ColourScheme, fibre: int, *, group_size: int | None = None
) -> FibrePlace:
    """Return the tube and position of a numbered fibre, with their colours.

    `group_size` is the cable's own number of fibres a tube, where it differs from the scheme's;
    a cable without tubes is one group of all its fibres.

    Raises: ValueError for a number or a group below 1.

    >>> scheme = ColourScheme(
    ...     name="two by two",
    ...     fibres=(Colour(name="blue"), Colour(name="blue", mark="ring")),
    ...     tubes=(Colour(name="red"), Colour(name="green")),
    ...     group_size=2,
    ... )
    >>> str(place_of_fibre(scheme, 4))
    'tube 2 green, fibre 2 blue, ring'
    """
    size = scheme.group_size if group_size is None else group_size
    if fibre < 1 or size < 1:
        raise ValueError(f"fibre {fibre} in groups of {size}; both count from 1")
    tube, position = (fibre - 1) // size + 1, (fibre - 1) % size + 1
    return FibrePlace(
        tube=tube,
        tube_colour=_nth(scheme.tubes, tube),
        position=position,
        fibre_colour=_nth(scheme.fibres, position),
    )


def _nth(colours: tuple[Colour, ...], number: int) -> Colour | None:
    return colours[number - 1] if number <= len(colours) else None


def _said(number: int, colour: Colour | None) -> str:
    return str(number) if colour is None else f"{number} {colour}"
