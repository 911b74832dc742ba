"""What a trend is made of: checks, points, parts, and what it means. Pure."""

from dataclasses import dataclass, field

from api.devices.charts import Smoothed


@dataclass(frozen=True)
class Rules:
    """What a series is judged by.

    ``baseline``: so many checks in control before limits are drawn. ``least_sigma``: less scatter
    than this is the coarseness of what was read, not steadiness (the project's own choice); a
    fraction of the centre where ``relative``. ``relative``: the 20 % line lies about the centre of
    the baseline instead of about 1.
    """

    baseline: int
    least_sigma: float
    relative: bool


POWER = Rules(baseline=20, least_sigma=0.005, relative=False)
CUTS = Rules(baseline=10, least_sigma=0.02, relative=True)


@dataclass(frozen=True)
class Check:
    """One check: ``value`` a ratio [1], ``uncertainty`` the meter's, relative, k = 2 [1]."""

    check_id: str
    at: str
    value: float
    uncertainty: float = 0.0
    failed: bool = False


@dataclass
class Point:
    """A check in its place. ``role``: ``baseline``, ``left_out`` of it, or ``watched`` after it.

    ``signals``: ``failed``, ``limits`` (individuals chart), ``ewma``, in this order.
    """

    check: Check
    part: int
    role: str = "baseline"
    smoothed: Smoothed | None = None
    signals: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Part:
    """The checks from one restart to the next; ``center`` and ``sigma`` once there is a baseline.

    ``settled``: how many checks a baseline has so far.
    """

    restart_id: str | None
    settled: int
    center: float | None = None
    sigma: float | None = None


@dataclass(frozen=True)
class Meaning:
    """What the last part says now, by code; see ``Trend``.

    ``direction``: ``up`` or ``down``. ``since``: the check with which a drift began. ``rate`` and
    its 95 % interval: a month, in the unit of the values. ``reaches``: between how many days after
    the newest check a line through the drift meets the 20 % line.
    """

    code: str
    direction: str | None = None
    since: str | None = None
    rate: tuple[float, float, float] | None = None
    reaches: tuple[float, float] | None = None


@dataclass(frozen=True)
class Trend:
    """A series worked out.

    ``meaning.code``: ``empty`` (nothing since the restart), ``failed`` (the newest one),
    ``no_baseline``, ``beyond`` (the newest lies outside the individuals chart), ``drifting`` (the
    average does) or ``steady``. ``line``: the 20 % line with the guard band of the newest check's
    meter, low and high; None where it needs a baseline that is not there.
    """

    points: tuple[Point, ...]
    parts: tuple[Part, ...]
    line: tuple[float, float] | None
    meaning: Meaning
