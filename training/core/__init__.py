"""The trade, memory, questions and permission, as pure functions over values: no framework, no clock, no chance."""
