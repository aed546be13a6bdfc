"""Cuts of meat as data: shape, composition, what they need to be tender or safe. A pit's file may add more.

Compositions from memory (public food composition tables; per 100 g raw), shapes and needs are the project's own choices.
"""

from collections.abc import Iterable, Sequence
from typing import Annotated, Final, Literal

from msgspec import Meta, Struct
from msgspec.structs import replace

from firebox.errors import RangeError
from firebox.meat.food import Composition, properties
from firebox.records import Name
from firebox.setup import Grade, OwnCut

Ends = Literal["tender", "cooked"]


class Cut(Struct, frozen=True, kw_only=True):
    """A kind of cut.

    Attributes
    ----------
    name : str
    ends : str
        "tender": connective tissue decides; "cooked": done when the coldest part is safe (poultry).
    kg : float
        What one usually weighs. [kg]
    thickness : float
        Of the usual one, where it is thickest between two heated faces, trimmed. [m]
    shape : float
        0 slab, 1 cylinder, 2 ball. [-]
    composition : Composition
    need_hours : float
        Hours at 82 degC until it gives; for "cooked" unused. [h]
    need_spread : float
        Standard deviation of its logarithm: animals and grades differ.
    crust : float
        How easily its outside lets vapour pass, relative to bare lean; fat and skin hinder. [-]
    poultry : bool
    feel : str
        What to feel for.
    """

    name: Name
    ends: Ends = "tender"
    kg: Annotated[float, Meta(gt=0, le=100)]
    thickness: Annotated[float, Meta(gt=0, le=0.6)]
    shape: Annotated[float, Meta(ge=0, le=2)]
    composition: Composition
    need_hours: Annotated[float, Meta(gt=0, le=100)] = 8.0
    need_spread: Annotated[float, Meta(ge=0, le=1.5)] = 0.4
    crust: Annotated[float, Meta(gt=0, le=5)] = 1.0
    poultry: bool = False
    feel: str = "push a thin probe into the thickest part: it should slide in with hardly any drag"


CUTS: Final[dict[str, Cut]] = {
    cut.name: cut
    for cut in (
        Cut(
            name="brisket",
            kg=5.5,
            thickness=0.085,
            shape=0.2,
            composition=Composition(water=0.62, protein=0.185, fat=0.185),
            need_hours=8.0,
            need_spread=0.4,
            feel="push a thin probe into the flat where it is thickest: it should slide in with hardly any drag, and the "
            "flat should sag over your hand when lifted in the middle",
        ),
        Cut(
            name="pork shoulder",
            kg=4.0,
            thickness=0.13,
            shape=1.0,
            composition=Composition(water=0.64, protein=0.175, fat=0.175),
            need_hours=5.0,
            need_spread=0.4,
            feel="wiggle the blade bone: it should turn and begin to come loose; a probe slides in from every side",
        ),
        Cut(
            name="beef ribs",
            kg=2.5,
            thickness=0.065,
            shape=0.2,
            composition=Composition(water=0.57, protein=0.17, fat=0.25),
            need_hours=6.0,
            need_spread=0.4,
            feel="push a thin probe between the bones: no drag; the meat has drawn back from the bone's ends",
        ),
        Cut(
            name="pork ribs",
            kg=1.3,
            thickness=0.032,
            shape=0.1,
            composition=Composition(water=0.61, protein=0.17, fat=0.21),
            need_hours=2.5,
            need_spread=0.4,
            feel="lift the rack at a third of its length: it should bend until the surface begins to crack",
        ),
        Cut(
            name="turkey",
            ends="cooked",
            kg=5.5,
            thickness=0.115,
            shape=1.0,
            composition=Composition(water=0.71, protein=0.21, fat=0.07),
            crust=0.5,
            poultry=True,
            feel="turn a drumstick: its joint should move loosely; probe breast and inner thigh at several places",
        ),
        Cut(
            name="chicken",
            ends="cooked",
            kg=1.8,
            thickness=0.065,
            shape=1.0,
            composition=Composition(water=0.69, protein=0.19, fat=0.11),
            crust=0.5,
            poultry=True,
            feel="turn a drumstick: its joint should move loosely; probe breast and inner thigh at several places",
        ),
        Cut(
            name="meat",
            kg=4.0,
            thickness=0.09,
            shape=0.5,
            composition=Composition(water=0.64, protein=0.19, fat=0.16),
            need_hours=7.0,
            need_spread=0.6,
        ),
    )
}
"""By name; "meat" stands for a cut that nobody has named."""


def known(own: Sequence[OwnCut] = ()) -> dict[str, Cut]:
    """Return every cut by name: those that stand here and the owner's own, which may take their place.

    Parameters
    ----------
    own : sequence of OwnCut
        Each says which known cut it is like, and where it differs.

    Raises
    ------
    RangeError
        One is like a cut that is not known, or its fractions add up to no meat.
    """
    cuts = dict(CUTS)
    for told in own:
        base = cuts.get(told.like)
        if base is None:
            raise RangeError(f'cut "{told.name}" is like "{told.like}", which is not known; {_listed(cuts)}')
        cuts[told.name] = _differing(base, told)
    return cuts


def _listed(cuts: Iterable[str]) -> str:
    return f"known are {', '.join(sorted(cuts))}"


def named(name: str, own: Sequence[OwnCut] = ()) -> Cut:
    """Return the cut of a name.

    Raises
    ------
    RangeError
        There is none of that name; the message lists those there are.
    """
    cuts = known(own)
    if name not in cuts:
        like = [known for known in sorted(cuts) if set(name.lower().split()) & set(known.split())]
        meant = f" did you mean {' or '.join(like)}?" if like else ""
        raise RangeError(f'"{name}" is no cut;{meant} {_listed([known for known in cuts if known != UNNAMED])}')
    return cuts[name]


def _differing(base: Cut, told: OwnCut) -> Cut:
    made_of = base.composition
    made_of = Composition(
        water=made_of.water if told.water is None else told.water,
        protein=made_of.protein if told.protein is None else told.protein,
        fat=made_of.fat if told.fat is None else told.fat,
        ash=made_of.ash,
    )
    properties(made_of, 60.0)
    given = {
        "kg": told.kg,
        "thickness": None if told.thickness_mm is None else told.thickness_mm / 1000.0,
        "shape": told.shape,
        "need_hours": told.need_hours,
        "feel": told.feel,
    }
    return replace(
        base, name=told.name, composition=made_of, **{key: value for key, value in given.items() if value is not None}
    )


UNNAMED: Final = "meat"

LEAST_KG: Final = 0.1
"""Lighter than that is no piece that a probe can be put in."""

MEASURED_SPREAD: Final = 0.08
"""Standard deviation of the logarithm of a thickness that was measured: cuts are uneven."""

GUESSED_SPREAD: Final = 0.14
"""The same where it follows from the weight."""

UNKNOWN_SPREAD: Final = 0.30
"""The same where neither is known."""


class Piece(Struct, frozen=True, kw_only=True):
    """One piece of meat as told: its cut, with what was weighed and measured."""

    cut: Cut
    kg: float
    thickness: float
    """[m]"""
    thickness_spread: float

    @property
    def composition(self) -> Composition:
        return self.cut.composition

    @property
    def shape(self) -> float:
        return self.cut.shape

    @property
    def passage(self) -> float:
        return self.cut.crust

    @property
    def need_hours(self) -> float:
        return self.cut.need_hours

    @property
    def need_spread(self) -> float:
        return self.cut.need_spread


FAT_OF: Final[dict[str, float]] = {"lean": 0.7, "usual": 1.0, "marbled": 1.3}
"""Fat of a piece by its grade, against that of its cut: grades of beef run over about such a range (from memory)."""

NEED_OF: Final[dict[str, float]] = {"lean": 1.15, "usual": 1.0, "marbled": 0.9}
"""Hours until it gives, likewise: cooks say that marbled meat gives sooner. Project's choice, well within the doubt."""


def graded(cut: Cut, grade: Grade) -> Cut:
    """Return a cut as a piece of some grade has it: more fat takes the place of water and protein, as these stand."""
    made = cut.composition
    more = made.fat * (FAT_OF[grade] - 1.0)
    lean = made.water + made.protein
    mixed = replace(
        made,
        fat=made.fat + more,
        water=made.water * (1.0 - more / lean),
        protein=made.protein * (1.0 - more / lean),
    )
    return replace(cut, composition=mixed, need_hours=cut.need_hours * NEED_OF[grade])


def piece(cut: Cut, kg: float | None = None, thickness: float | None = None, grade: Grade = "usual") -> Piece:
    """Return a piece of a cut; what is not told follows from the rest.

    Parameters
    ----------
    cut : Cut
    kg : float, optional
        Weight, trimmed. [kg]
    thickness : float, optional
        Where it is thickest, between two heated faces. [m] Without it, the usual one scaled by the cube root of the
        weight.
    grade : str, optional
        "lean", "usual" or "marbled".

    Raises
    ------
    RangeError
        A weight or thickness that no such cut has.

    Examples
    --------
    >>> round(piece(CUTS["brisket"], 7.0).thickness, 3)
    0.092
    """
    if kg is not None and not LEAST_KG <= kg <= 100.0:
        raise RangeError(f"{kg:g} kg is no weight of {cut.name}; from 0.1 to 100 kg")
    if thickness is not None and not 0.01 <= thickness <= 0.6:
        raise RangeError(f"{1000 * thickness:g} mm is no thickness of {cut.name}; from 10 to 600 mm")
    if thickness is not None:
        spread = MEASURED_SPREAD
    else:
        spread = GUESSED_SPREAD if kg is not None else max(GUESSED_SPREAD, UNKNOWN_SPREAD * (cut.name == UNNAMED))
    weight = cut.kg if kg is None else kg
    usual = cut.thickness * (weight / cut.kg) ** (1.0 / 3.0)
    cut = cut if grade == "usual" else graded(cut, grade)
    return Piece(cut=cut, kg=weight, thickness=usual if thickness is None else thickness, thickness_spread=spread)
