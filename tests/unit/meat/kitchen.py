"""A piece of meat whose truth is known, and its follower that hears it: what the tests of the meat share."""

from datetime import UTC, datetime, timedelta

from msgspec.structs import replace

from firebox.cooklog import CookLog, enter
from firebox.estimate.probes import ProbeTrack
from firebox.meat import follow, outlook, telling
from firebox.meat import herd as herds
from firebox.meat.cuts import CUTS, piece
from firebox.meat.places import place
from firebox.records import Health
from firebox.setup import MeatPiece, Probe, Role, Setup

T0 = datetime(2026, 5, 2, 4, tzinfo=UTC)


def at(hours):
    return T0 + timedelta(hours=hours)


def setup(cut="brisket", **told):
    return Setup(
        time=T0,
        target_celsius=125.0,
        probes=(Probe(name="grate", role=Role.GRATE), Probe(name="flat", role=Role.MEAT)),
        meats=(MeatPiece(probe="flat", cut=cut, **told),) if cut else (),
    )


class Kitchen:
    """A pit that holds a temperature, one true piece of meat, and what is made of its probe."""

    def __init__(self, *, cut="brisket", member=3, seed=77, start=6.0, gas=125.0, setup_told=None):
        self.piece = piece(CUTS[cut or "meat"])
        self.truth = herds.begin(start, members=8, seed=seed)
        self.made = herds.figures(self.truth, self.piece)
        self.member, self.gas = member, gas
        self.where, self.seconds, self.air = place(), 0.0, None
        self.setup, self.log, self.meats = setup_told or setup(cut), CookLog(), {}
        self.blind, self.pit_blind, self.drift = False, False, None
        self.loose = None

    @property
    def time(self):
        return T0 + timedelta(seconds=self.seconds)

    @property
    def probed(self):
        return float(herds.probed(self.truth, self.made)[self.member])

    @property
    def reads(self):
        """What the probe reads: in the meat, or out of it (`loose`)."""
        return self.probed if self.loose is None else self.loose

    @property
    def middle(self):
        return float(self.truth.celsius[self.member, 0])

    @property
    def tender(self):
        return float(herds.tenderness(self.truth, self.made)[self.member])

    @property
    def one(self):
        return self.meats["flat"]

    def track(self):
        """The meat probe as the watch knows it, its readings rounded as a probe's are."""
        track = ProbeTrack(name="flat", role=Role.MEAT, health=Health.GOOD, since=0.0, noise=0.1)
        return track if self.blind else replace(track, celsius=round(self.reads, 1), drift_per_hour=self.drift)

    def moment(self):
        pit = ProbeTrack(name="grate", role=Role.GRATE, health=Health.GOOD, since=0.0, celsius=self.gas)
        tracks = {"flat": self.track(), **({} if self.pit_blind else {"grate": pit})}
        lead = None if self.pit_blind else "grate"
        return follow.moment(self.seconds, tracks, lead, self.log, self.setup, time=self.time), tracks

    def enter(self, entry):
        self.log = enter(self.log, entry, self.seconds, T0)

    def cook(self, hours, *, heard=True):
        """Play on; the follower is called each minute, or not at all (a gap)."""
        for _ in range(round(60.0 * hours)):
            before = self.probed
            self.seconds += 60.0
            self.truth = herds.warm_walls(self.truth, self.gas, 60.0)
            around = herds.surroundings(self.truth, self.made, self.where, self.gas if self.air is None else self.air)
            self.truth = herds.step(self.truth, self.made, around, 60.0)
            self.drift = 60.0 * (self.probed - before)
            if heard:
                now, tracks = self.moment()
                self.meats = follow.keep(self.meats, now, tracks)
        return self

    def ask(self):
        """Return what is told of the meat now."""
        now, tracks = self.moment()
        self.meats = outlook.look(self.meats, now)
        return telling.tell(self.meats.get("flat"), tracks["flat"], now, self.time)
