"""The call that a sleeper was promised reaches him through the alarms, and so whoever is to be called."""

from datetime import UTC, datetime, timedelta

from firebox import watch
from firebox.records import Alarm, AlarmState, Awake, Entry, Priority, Reading, Sleep, Split, Tick
from firebox.setup import Setup

START = datetime(2026, 5, 2, 22, 0, tzinfo=UTC)


class Bed:
    """A pit that falls slowly beside a cook in bed."""

    def __init__(self, *entries: Entry) -> None:
        self.state = watch.begin(Setup(time=START, intake_open=0.5, stack_open=1.0))
        self.seconds, self.celsius = 0.0, 121.0
        self.alarms: list[Alarm] = []
        for entry in entries:
            self.tell(entry)

    @property
    def time(self) -> datetime:
        return START + timedelta(seconds=self.seconds)

    def tell(self, record: Entry | Reading | Tick) -> None:
        step = watch.step(self.state, record)
        self.state = step.state
        self.alarms += [out for out in step.out if isinstance(out, Alarm) and out.alarm == "wake-up"]

    def lie(self, minutes: float, drift: float) -> None:
        for _ in range(round(6.0 * minutes)):
            self.seconds += 10.0
            self.celsius += drift / 360.0
            self.tell(Reading(time=self.time, probe="grate", celsius=round(self.celsius, 1)))
            if self.seconds % 30.0 == 0.0:
                self.tell(Tick(time=self.time))


def _evening() -> Bed:
    bed = Bed(Split(time=START, kg=1.3))
    bed.lie(12, 0.0)
    return bed


def test_a_sleeper_is_called_when_his_wood_is_due_and_let_be_once_it_is_laid() -> None:
    bed = _evening()
    bed.tell(Sleep(time=bed.time))
    bed.lie(5, 0.0)
    assert not bed.alarms
    bed.lie(25, -24.0)
    assert bed.alarms
    call = bed.alarms[0]
    assert (call.state, call.priority) == (AlarmState.UNACKNOWLEDGED, Priority.MEDIUM)
    assert "Wood" in call.text
    bed.tell(Split(time=bed.time, kg=1.3))
    bed.lie(4, 0.0)
    assert bed.alarms[-1].state in (AlarmState.NORMAL, AlarmState.RETURNED)


def test_a_cook_who_is_up_is_not_called_for_what_the_move_says() -> None:
    bed = _evening()
    bed.tell(Sleep(time=bed.time))
    bed.tell(Awake(time=bed.time))
    bed.lie(22, -24.0)
    assert bed.state.move is not None
    assert bed.state.move.split is not None
    assert not bed.alarms
