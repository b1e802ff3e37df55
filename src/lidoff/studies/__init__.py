"""What happens to a circuit when something is changed: each study is a function from a circuit to a frozen result.

Along a value (`vary`), along a knob with the state carried along (`turn`), against ratings (`stress`), at switch-on
(`switch_on`), with the plug pulled (`unplug`), off but glowing (`glow`), over the tolerances (`spread`), with one part
failed at a time (`faults`), and what the steps of the current do to a radio (`disturbance`).
"""

from lidoff.studies.disturbance import disturbance
from lidoff.studies.errors import StudyError
from lidoff.studies.fault_effects import Exposure, FuseVerdict, Overstress
from lidoff.studies.faults import Fault, Faults, faults
from lidoff.studies.glow import Glow, glow
from lidoff.studies.spread import Matter, Range, Spread, spread
from lidoff.studies.stress import Stress, stress
from lidoff.studies.sweep import Stop
from lidoff.studies.switch_on import Charging, Surge, SwitchOn, switch_on
from lidoff.studies.touch import Touch, touch
from lidoff.studies.turn import Turn, turn
from lidoff.studies.unplug import Decay, Unplugged, unplug
from lidoff.studies.vary import Variation, vary

__all__ = [
    "Charging",
    "Decay",
    "Exposure",
    "Fault",
    "Faults",
    "FuseVerdict",
    "Glow",
    "Matter",
    "Overstress",
    "Range",
    "Spread",
    "Stop",
    "Stress",
    "StudyError",
    "Surge",
    "SwitchOn",
    "Touch",
    "Turn",
    "Unplugged",
    "Variation",
    "disturbance",
    "faults",
    "glow",
    "spread",
    "stress",
    "switch_on",
    "touch",
    "turn",
    "unplug",
    "vary",
]
