"""Is this kit item fit for this job on this day? One rule file per sort of kit; ``judge`` gathers every reason."""

from training.core.trade.fitness.gloves import GlovePair
from training.core.trade.fitness.job import House, Job, KitItem
from training.core.trade.fitness.judge import KINDS, Fitness, Kit, PreUseCheck, fitness, pre_use_reasons
from training.core.trade.fitness.lifts import Lift, LiftTable
from training.core.trade.fitness.measuring import InsulationTester, Leads, Meter, ProvingUnit
from training.core.trade.fitness.protecting import InsulatedTools, Lock, Mat, RescueHook, Visor
from training.core.trade.reasons import Reason

__all__ = [
    "KINDS",
    "Fitness",
    "GlovePair",
    "House",
    "InsulatedTools",
    "InsulationTester",
    "Job",
    "Kit",
    "KitItem",
    "Leads",
    "Lift",
    "LiftTable",
    "Lock",
    "Mat",
    "Meter",
    "PreUseCheck",
    "ProvingUnit",
    "Reason",
    "RescueHook",
    "Visor",
    "fitness",
    "pre_use_reasons",
]
