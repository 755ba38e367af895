"""Seconds as people write them."""


def clock(seconds: float) -> str:
    """Minutes and seconds, or hours too.

    >>> clock(80.2), clock(3661)
    ('1:20', '1:01:01')
    """
    whole = round(abs(seconds))
    hours, minutes = divmod(whole // 60, 60)
    text = f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"
    return f"-{text}" if seconds < 0 and whole else text
