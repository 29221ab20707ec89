"""A step that cannot be taken now: the reason in plain words, a stable code and the HTTP status for the doors."""


class Refused(Exception):
    """Raised by services before anything is changed. `field` names the input that can mend it, if one can."""

    def __init__(self, code: str, message: str, *, status: int = 409, field: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.status = status
        self.field = field
