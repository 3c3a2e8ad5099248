"""What a sheet does not say and the record needs: said openly, and open to change."""

from dataclasses import dataclass, field


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
        default=2, metadata={"means": "length of the cord from outlet to terminal, in metres"}
    )
    wavelength_nm: int = field(
        default=1490, metadata={"means": "wavelength of readings, in nm, where none is given"}
    )
