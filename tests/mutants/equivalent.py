"""Mutants that change no answer, each looked at: the function, what stood there, what stands there, and why."""

from __future__ import annotations

CACHE = "a cache: what is not looked up is worked out again, to the same"
SHORTCUT = "a shortcut: whatever does not take it is worked out in full by the next line, to the same"

EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("questions.stages", "key not in case.counting", "True"): CACHE,
    ("questions.stages", "rule.topic_mean_floor is None", "rule.topic_mean_floor is not None"): (
        "part of a cache's key, which tells the same rules apart when turned round"
    ),
    ("questions._first_in_turns", "if most is None:", "nothing"): (
        "all of them are kept in the order of their days; within a topic that is the order in which they came, and over"
        " several topics the order is not looked at"
    ),
    ("questions._first_in_turns", "1", "2"): "turns count by twos: the same order, for only their order is looked at",
    ("questions._first_in_turns", "4", "3"): "day, turn and topic are never the same for two questions",
    ("questions._first_in_turns", "4", "5"): "day, turn and topic are never the same for two questions",
    ("recall.", "1e-09", "1.000000001"): SHORTCUT,
    ("recall._meets", "if questions and total >= (floor + _HAIR) * len(questions):", "nothing"): SHORTCUT,
    (
        "recall._meets",
        "total >= (floor + _HAIR) * len(questions)",
        "total > (floor + _HAIR) * len(questions)",
    ): SHORTCUT,
    ("recall._remembered", "key not in case.remembered", "True"): CACHE,
    ("recall._remembered", "limits == (None, None)", "False"): (
        "part of a cache's key: rules without a limit share less work, and say the same"
    ),
    ("recall._remembered", "0", "-1"): "the tuple has one finding: its first is its last",
    ("recall._own_low", "question.question not in lows", "True"): CACHE,
    ("recall_gaps._remembered_plan", "key not in case.plans", "True"): CACHE,
    ("recall_gaps.topic_gap", "rule.topic_mean_floor or 0.0", "rule.topic_mean_floor"): (
        "a topic without a floor for its mean has no gap of its mean"
    ),
    ("coming.decide_with_coming", "if not coming:", "nothing"): SHORTCUT,
    (
        "counting._offsets",
        "short.days and any((a.day == today for a in attempts))",
        "any((a.day == today for a in attempts))",
    ): ("where no new day is short the first of the new days is not looked at"),
    ("counting._offsets", "1", "0"): "one less of the same day: none is what is left of none and of one less",
    ("crew.best_crews", "0", "-1"): "no jobs at all are staffed by nobody",
    ("practical.faults_of_attempt", "True", "False"): "both have the same length: it was compared above",
    ("practical.task_from", "reader.word('topic', Topic) or Topic.WORK_AREA", "reader.word('topic', Topic)"): (
        "a task without a topic is refused below"
    ),
    ("outlook.outlook", "True", "False"): "there is one finding for each topic",
    ("start_of_work.voltage_reasons", "True", "False"): "there are two voltages and two kinds",
    ("signoffs._merit", "0.0", "-1.0"): "the findings under an appointment always have an end",
    ("signoffs.check_done_lately", "rule.done_within_days or 0", "rule.done_within_days"): (
        "asked only of rules that have a window"
    ),
    ("authority.Court._warm", "o.task == task", "True"): "more observations are judged beforehand, each to the same",
    ("coming._together.in_force", "at == own.at", "False"): SHORTCUT,
}
