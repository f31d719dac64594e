"""What to mind about motors and what they turn, before the step; local codes and licensed practice rule."""

LOCAL = (
    "Follow your local electrical code; what it reserves to a licensed person is theirs to do. "
    "Nothing here proves a machine harmless."
)
PLUG_OUT = "Pull the plug, and wait until everything stands still, before a cover comes off or a wheel is touched."
WHEELS = (
    "Gears, belts and cams draw in hair, sleeves and ribbons and crush fingers: tie them back, covers on, hands off "
    "while it turns. A clutch may trip by itself when the line opens."
)
READ_AT_SPEED = (
    PLUG_OUT,
    "A wheel that seems to stand still under a strobe is turning: never reach for it.",
    WHEELS,
    LOCAL,
)
CHANGE_WHEELS = (PLUG_OUT, "Turn by hand through a whole cycle before the plug goes back.", LOCAL)
MAKESHIFT = (
    PLUG_OUT,
    "Handwheel first: the machine must turn freely by hand through a whole cycle. Find out which way it turns.",
    "Couple through something that slips before it breaks (a rubber sleeve, a round belt), the drive's own torque "
    "limit set low; begin at a few turns a minute.",
    "Guard the coupling, clamp drive and machine down, and have a switch in reach that stops it; never hold a drill "
    "in the hand or lock its trigger.",
    WHEELS,
    LOCAL,
)
SUPPLY = (
    "A motor on a supply starts by itself when the output goes on: covers on, hands off, everyone told.",
    "Only for a motor that may run on direct current: a series (universal) or permanent-magnet motor. Never a "
    "synchronous or induction motor, nor one with a start capacitor.",
    "A series motor without a load runs away: never with the belt or the gear off.",
    "From 30 V upwards a supply can kill. Old insulation may put the frame at the supply's voltage: isolated supply, "
    "frame earthed, insulation looked at first.",
    WHEELS,
    "Stay at the supply's own switch. A program that is killed, or a cable that is pulled, may leave the output on.",
    LOCAL,
)
