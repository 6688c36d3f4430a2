"""The normal distribution's two-sided factor."""


def normal_factor(confidence: float) -> float:
    """Half-width, in standard errors, of a two-sided interval of that confidence."""
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))
