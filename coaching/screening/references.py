"""Where the screening package's rules come from."""

from typing import Final

PRE_PARTICIPATION: Final = (
    "Riebe et al. 2015, Updating ACSM's recommendations for exercise preparticipation health screening, "
    "Med Sci Sports Exerc 47:2473-2479"
)
"""The published pre-participation algorithm. Source: read through secondary pages that agree."""

WARNING_SIGNS: Final = (
    "warning signs to stop exercise, as printed in hospital patient education; some entries are general "
    "first-aid knowledge"
)
"""Where the red-flag symptoms come from. Source: hospital patient-education pages; practice for the rest."""
