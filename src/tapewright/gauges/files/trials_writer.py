"""Write trials as TOML, so that they read back as the same problem."""

import json

from tapewright.gauges.trim.problem import OWN_LIMITS, Expectation, Knob, Problem, Seen, Target, Trial


def trials_toml(problem: Problem) -> str:
    """Return the whole trials file."""
    parts = [_knob(k) for k in problem.knobs] + [_target(t) for t in problem.targets]
    parts += [_expectation(problem, e) for e in problem.expectations]
    return "\n".join(parts + [_trial(problem, t) for t in problem.trials])


def _knob(knob: Knob) -> str:
    values = {"step_limit": knob.step_limit, "play": knob.play or None, "low": knob.low, "high": knob.high}
    return _table("knobs", {"name": knob.name, "unit": knob.unit}, values)


def _target(target: Target) -> str:
    values = {"low": target.low, "high": target.high, "u": target.u, "lock_shift": target.lock_shift or None}
    return _table("readings", {"name": target.name, "unit": target.unit}, values) + _source(target)


def _source(target: Target) -> str:
    """Return where the limits come from, under the reading it belongs to; nothing for the trials file itself."""
    if target.source == OWN_LIMITS:
        return ""
    source = target.source
    words = {"document": source.document, "place": source.place, "standing": source.standing.value}
    return "".join(["source = { ", ", ".join(f"{k} = {_text(v)}" for k, v in words.items() if v), " }\n"])


def _expectation(problem: Problem, expected: Expectation) -> str:
    names = {"knob": problem.knobs[expected.knob].name, "reading": problem.targets[expected.reading].name}
    return _table("expect", names, {"value": expected.value, "u": expected.u})


def _table(kind: str, texts: dict[str, str], numbers: dict[str, float | None]) -> str:
    lines = [f"{key} = {_text(text)}" for key, text in texts.items()]
    lines += [f"{key} = {number!r}" for key, number in numbers.items() if number is not None]
    return "\n".join([f"[[{kind}]]", *lines, ""])


def _trial(problem: Problem, trial: Trial) -> str:
    at = ", ".join(f"{_text(k.name)} = {p!r}" for k, p in zip(problem.knobs, trial.at, strict=True))
    named = zip(problem.targets, trial.read, strict=True)
    read = ", ".join(f"{_text(t.name)} = {_seen(seen)}" for t, seen in named if seen is not None)
    return f"[[trials]]\nat = {{ {at} }}\nread = {{ {read} }}\n"


def _seen(seen: Seen) -> str:
    if seen.value is not None:
        return f"{seen.value!r}" if seen.u is None else f"{{ value = {seen.value!r}, u = {seen.u!r} }}"
    low = "-inf" if seen.low is None else repr(seen.low)
    return f"[{low}, {'inf' if seen.high is None else repr(seen.high)}]"


def _text(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
