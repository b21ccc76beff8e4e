"""The second solver on sums and days: statics by linear algebra, capacitors by small steps or by root finding."""

from __future__ import annotations

import math
import re
from datetime import timedelta

import numpy as np

from tests.core.questions.solver_texts import Answer, days, later, numbers, printed, the_one
from training.core.questions.kinds import Question


# ---------------------------------------------------------------- days
def glove_shelf_last_day(question: Question) -> Answer:
    """29 CFR 1910.137 Table I-5, footnote 1: tested within the previous twelve months; the anniversary is out."""
    tested, _ = days(question.situation)
    return printed(later(tested, 12) - timedelta(days=1))


def certificate_last_day(question: Question) -> Answer:
    done, _ = days(question.situation)
    (months,) = numbers("good for # months", question.situation)
    return f"through {printed(later(done, int(months)))}"


def _lift(question: Question, months: int) -> Answer:
    examined, _ = days(question.situation)
    return f"through {printed(later(examined, months))}"


def lift_examined_us(question: Question) -> Answer:
    """ANSI/ALI ALOIM: yearly."""
    return _lift(question, 12)


def lift_examined_eu(question: Question) -> Answer:
    """DGUV Grundsatz 308-002: yearly."""
    return _lift(question, 12)


def lift_examined_uk(question: Question) -> Answer:
    """LOLER 9(3): six months where people work under it."""
    return _lift(question, 6)


def quarantine_first_look(question: Question) -> Answer:
    """Trade practice C11: 72 h for dry damage; flooded stays out."""
    if re.search("salt water|flooded", question.situation):
        return "No day can be named yet"
    (since,) = days(question.situation)
    found = re.search(r", (\d\d):(\d\d)\.", question.situation)
    assert found
    return f"From {printed(since + timedelta(days=3))}, {found[1]}:{found[2]} on"


def wait_left(question: Question) -> Answer:
    times = [60 * int(hour) + int(minute) for hour, minute in re.findall(r"(\d+):(\d\d)", question.situation)]
    (wait_min,) = numbers("wait is # min", question.situation)
    _, opened, now = times
    return f"{max(0, opened + int(wait_min) - now)} min"


def first_aiders_eu(question: Question) -> Answer:
    """DGUV Vorschrift 1 section 26: one for 2 to 20 present, above that 10 % in workshops."""
    (present,) = numbers("shift # are present", question.situation)
    return "1" if present <= 20 else str(-(-int(present) // 10))


# ---------------------------------------------------------------- capacitors and insulation
def capacitor_energy(question: Question) -> Answer:
    """The work of bringing the charge up in a thousand steps."""
    micro, charged_v = numbers("has # \u00b5F and still stands at # V", question.situation)
    charge = micro * 1e-6 * charged_v
    return sum(charge / 1000 * charged_v * (step + 0.5) / 1000 for step in range(1000))


def discharge_resistor(question: Question) -> Answer:
    """The resistor by halving the interval, from the voltage that is left."""
    micro, start_v = numbers("capacitor of # \u00b5F is charged to # V", question.situation)
    dead_v, within_s = numbers("for dead, # V, within # s", question.situation)
    low, high = 1e-3, 1e6
    for _ in range(100):
        middle = (low + high) / 2
        left_v = start_v * math.exp(-within_s / (middle * 1e3 * micro * 1e-6))
        low, high = (middle, high) if left_v <= dead_v else (low, middle)
    return low


def two_voltage_laboratory(question: Question) -> Answer:
    """The older form of FMVSS 305 S7.6: Ri = Ro (1 + V2/V1) (V1 - V1') / V1'."""
    minus_v, plus_v = numbers("Minus to body reads # V, plus to body # V", question.situation)
    resistor, loaded_v = numbers("With # kohm from .* falls to # V", question.situation)
    high, low = max(minus_v, plus_v), min(minus_v, plus_v)
    assert ("from minus" in question.situation) == (minus_v > plus_v)
    return resistor * (1 + low / high) * (high - loaded_v) / loaded_v


# ---------------------------------------------------------------- statics
def _two_supports(mass_kg: float, at_m: float, one_m: float, other_m: float) -> tuple[float, float]:
    """Forces in kg at two supports: both add up to the mass, and their moments to its moment."""
    one, other = np.linalg.solve([[1.0, 1.0], [one_m, other_m]], [mass_kg, mass_kg * at_m])
    return float(one), float(other)


def offset_pad_load(question: Question) -> Answer:
    mass_kg, at_m, off_mm = numbers("weighs # kg. G lies # m .* axle and # mm", question.situation)
    front_m, rear_m, track_m = numbers("pads are # m and # m behind that axle, # m apart", question.situation)
    pairs = _two_supports(mass_kg, at_m, front_m, rear_m)
    return max(max(_two_supports(pair, off_mm / 1000, -track_m / 2, track_m / 2)) for pair in pairs)


def part_off_centre(question: Question) -> Answer:
    mass_kg, at_m = numbers("of # kg is on the lift. G lies # m", question.situation)
    part_kg, part_m = numbers(": # kg, # m behind that axle", question.situation)
    return float(np.average([at_m, part_m], weights=[mass_kg, -part_kg]))


def heaviest_pad(question: Question) -> Answer:
    front_kg, rear_kg, wheelbase_m = numbers("has # kg .* and # kg .* one, # m apart", question.situation)
    front_m, rear_m = numbers("pads stand # m and # m behind", question.situation)
    front, rear = np.linalg.solve([[1, 1], [front_m, rear_m]], [front_kg + rear_kg, rear_kg * wheelbase_m])
    pad_kg = max(front, rear) / 2
    # A sum that ends on a half is printed either way; the options lie further apart than that.
    return the_one(question, lambda text: abs(numbers("# kg", text)[0] - pad_kg) <= 0.51)


def table_shared_centre(question: Question) -> Answer:
    pack_kg, table_kg = numbers("pack of # kg stands on a lift table of # kg", question.situation)
    (offset_mm,) = numbers("gravity is # mm off", question.situation)
    return float(np.average([0.0, offset_mm], weights=[table_kg, pack_kg]))


SOLVERS = (
    glove_shelf_last_day,
    certificate_last_day,
    lift_examined_us,
    lift_examined_eu,
    lift_examined_uk,
    quarantine_first_look,
    wait_left,
    first_aiders_eu,
    capacitor_energy,
    discharge_resistor,
    two_voltage_laboratory,
    offset_pad_load,
    part_off_centre,
    heaviest_pad,
    table_shared_centre,
)
