"""The engine's turns, by what they are about: opening a step, readings, questions, parts, counting, remarks, commands."""
