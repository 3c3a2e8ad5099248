"""What a sheet does not say and the record needs: said openly, and open to change."""

from dataclasses import dataclass, field, fields


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumptions:
    """What is built where a sheet is silent. Types are names of catalogue entries.

    Each field's metadata says in `means` what it is for, as a form or a command shows it.
    """

    splitter: str = field(
        default="1:32", metadata={"means": "type of a new splitter without a ratio"}
    )
    splitter_polish: str = field(
        default="APC",
        metadata={"means": "connectors of a new splitter's legs; empty for tails to be spliced"},
    )
    cupboard: str = field(
        default="Riser", metadata={"means": "riser cupboard in which new splitters stand"}
    )
    fibre: str = field(default="G.657.A2", metadata={"means": "fibre type of new cables"})
    colour_scheme: str = field(
        default="TIA-598", metadata={"means": "fibre colours of new cables; empty for none"}
    )
    outlet: str = field(default="Outlet", metadata={"means": "name of a new outlet"})
    outlet_polish: str = field(default="APC", metadata={"means": "connector of a new outlet"})
    mated: str = field(
        default="mated pair", metadata={"means": "mated connectors, at the leg and in the outlet"}
    )
    splice: str = field(
        default="fusion splice", metadata={"means": "splice where the ends are bare"}
    )
    terminal: str = field(default="Terminal", metadata={"means": "name of a new home terminal"})
    terminal_class: str = field(
        default="", metadata={"means": "class a new terminal receives, such as GPON B+"}
    )
    cord_length_m: float = field(
        default=2.0, metadata={"means": "length of the cord from outlet to terminal, in metres"}
    )
    wavelength_nm: int = field(
        default=1490, metadata={"means": "wavelength of readings, in nm, where none is given"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """One assumption as a form or a command shows it."""

    field: str
    label: str
    value: str | float
    means: str


def label(field_name: str) -> str:
    """Return what a field of the assumptions is called."""
    return field_name.removesuffix("_nm").removesuffix("_m").replace("_", " ")


def assumed(assumptions: Assumptions | None = None) -> tuple[Assumed, ...]:
    """Return each assumption with its value and what it is for; those made by default if none."""
    made = assumptions or Assumptions()
    return tuple(
        Assumed(
            field=each.name,
            label=label(each.name),
            value=getattr(made, each.name),
            means=each.metadata["means"],
        )
        for each in fields(made)
    )
