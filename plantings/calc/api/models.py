"""The shape of how far a large model is.

Source
------
Definition of this programme; 202: RFC 9110, section 15.3.3.
"""

from plantings.calc.api.fields import MOMENT, TEXT, WHOLE, YES_NO, Field, Shape

STATES = ("waiting", "running", "done", "failed", "cancelled", "stopped")


def _of(name):
    return lambda _row, answer: answer[name]


MODEL_TASK = Shape(
    "ModelTask",
    "A model that takes long is being worked out. Ask for the figures again when it has ended.",
    (
        Field("state", TEXT, "How it is.", codes=STATES),
        Field("moving", YES_NO, "True while it waits or is under way.", "is_moving"),
        Field("step", TEXT, "What is done now; blank between steps.", _of("step")),
        Field("done", WHOLE, "Steps done.", _of("done"), measured_in="steps"),
        Field("total", WHOLE, "Steps in all; 0 before it starts.", _of("total"), measured_in="steps"),
        Field("earlier", MOMENT, "When the model of earlier records was fitted, which the page still shows; null without one.",
              _of("earlier"), null=True),
        Field("detail", TEXT, "What to do, in words.", _of("detail")),
        Field("task", TEXT, "The address that gives this answer again.", _of("task")),
    ),
)  # fmt: skip
