"""The looks of the dashboard as themes; every colour of it stands here."""

from typing import Final

from textual.theme import Theme

DUSK: Final = Theme(
    name="dusk",
    primary="#d98e4a",
    secondary="#8fa8a0",
    accent="#f0c674",
    warning="#e8b04b",
    error="#ef6b5a",
    success="#9dbb74",
    foreground="#e6dfd3",
    background="#15120f",
    surface="#1d1915",
    panel="#28221c",
    dark=True,
    variables={
        "quiet": "#9a8f80",
        "fan": "#8a6f4e",
        "history": "#f0c674",
        "band": "#6f8a80",
        "ember": "#6b4a3a",
        "drying": "#8fa8a0",
        "flames": "#ffc04d",
        "flames-next": "#f09a3e",
        "coals": "#d4552f",
        "coals-next": "#a83c28",
    },
)
"""For the evening: warm on near black."""

DAY: Final = Theme(
    name="day",
    primary="#8a4b12",
    secondary="#2f5d57",
    accent="#7a3a00",
    warning="#8a5a00",
    error="#a8200d",
    success="#3c6113",
    foreground="#1b1712",
    background="#f7f2e8",
    surface="#efe7d8",
    panel="#e4d9c4",
    dark=False,
    variables={
        "quiet": "#62574a",
        "fan": "#b08a5a",
        "history": "#5a2a00",
        "band": "#3d6b63",
        "ember": "#8a7a68",
        "drying": "#2f5d57",
        "flames": "#c26a00",
        "flames-next": "#9a4f00",
        "coals": "#a8200d",
        "coals-next": "#7a1a10",
    },
)
"""For sunlight: dark on paper."""

NIGHT: Final = Theme(
    name="night",
    primary="#a83224",
    secondary="#7a2a20",
    accent="#c8402e",
    warning="#c8402e",
    error="#e0503a",
    success="#98301f",
    foreground="#a83a2c",
    background="#000000",
    surface="#080000",
    panel="#120202",
    dark=True,
    variables={
        "quiet": "#7c2a1f",
        "fan": "#4a1610",
        "history": "#c8402e",
        "band": "#6a2018",
        "ember": "#5a1a12",
        "drying": "#7c2a1f",
        "flames": "#e0503a",
        "flames-next": "#c8402e",
        "coals": "#a02c1e",
        "coals-next": "#7c2218",
    },
)
"""For eyes that are used to the dark: dim red alone."""

CONTRAST: Final = Theme(
    name="contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffff00",
    warning="#ffff00",
    error="#ffffff",
    success="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#000000",
    dark=True,
    text_alpha=1.0,
    variables={
        "quiet": "#ffffff",
        "fan": "#c0c0c0",
        "history": "#ffff00",
        "band": "#ffffff",
        "ember": "#c0c0c0",
        "drying": "#ffffff",
        "flames": "#ffff00",
        "flames-next": "#ffffff",
        "coals": "#ffff00",
        "coals-next": "#ffffff",
    },
)
"""White and yellow on black."""

UNCOLOURED: Final = Theme(
    name="uncoloured",
    primary="ansi_default",
    secondary="ansi_default",
    accent="ansi_default",
    warning="ansi_default",
    error="ansi_default",
    success="ansi_default",
    foreground="ansi_default",
    background="ansi_default",
    surface="ansi_default",
    panel="ansi_default",
    ansi=True,
    variables=dict.fromkeys(
        (
            "quiet",
            "fan",
            "history",
            "band",
            "ember",
            "drying",
            "flames",
            "flames-next",
            "coals",
            "coals-next",
            "ansi-background",
            "ansi-foreground",
        ),
        "ansi_default",
    ),
)
"""The terminal's own two colours, for NO_COLOR: bold and reverse remain."""

ALL: Final = (DUSK, DAY, NIGHT, CONTRAST, UNCOLOURED)
