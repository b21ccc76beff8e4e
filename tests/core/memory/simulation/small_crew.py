"""A small bank, two kinds of work and a few weeks: a crew that takes seconds."""

from __future__ import annotations

from training.core.memory.simulation.asked import Asks, QuestionShape
from training.core.memory.simulation.crews import Role, Scenario, run_crew

TOPICS = ("isolation", "rescue")
BANK = [
    QuestionShape(
        name=f"{topic} {place:02}",
        topic=topic,
        consequence=("life", "injury", "damage")[place % 3],
        chance_floor=(1 / 3, 1 / 15, 0.02)[place % 3],
    )
    for topic in TOPICS
    for place in range(9)
]
NEAR = Asks(job_type="A", topics=("rescue",), life_floor=0.6, mean_floor=None)
FAR = Asks(job_type="B", topics=TOPICS, life_floor=0.6, mean_floor=0.4)
ROLES = (Role(title="near", share=0.5, sought=(NEAR,)), Role(title="far", share=0.5, sought=(NEAR, FAR)))


def crew(seed=1, *, people=4, weeks=8, roles=ROLES, **more):
    return run_crew(Scenario(title="small", roles=roles, people=people, weeks=weeks, **more), BANK, seed)
