"""Times for people."""


def clock(seconds: float) -> str:
    """Return a time as on a player.

    >>> clock(42.4), clock(3725)
    ('0:42', '1:02:05')
    """
    minutes, second = divmod(int(seconds), 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02}:{second:02}" if hours else f"{minute}:{second:02}"
