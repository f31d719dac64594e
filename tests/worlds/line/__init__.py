"""Recorded start-stop lines whose complete truth is known, made without the program that measures them.

Nothing here imports the program, and nobody who wrote it had read the measuring code or the practice machine. The
parts:

    motor        how fast the motor turns: warming, swings, sags; one continuous phase
    gauge        what the errors of contacts mean, and which part of them a line can show
    truth        everything that was put into a recording, and every instant of it
    transmitter  one cam shaft, five contacts and a stop contact; clutch, bounce, dropouts, split marks
    instrument   what a logic analyser, an oscilloscope or a sound card makes of the line
    machines     MACHINES: named worlds to draw by seed, healthy and ill
    hard         HARD: five-unit lines that are hard to read: three levels, inverted, chatter, two senders
    strangers    STRANGERS: over forty kinds of signal that are not five-unit start-stop
    files        DIALECTS: the many ways in which bench instruments write the same samples into a file

    recording = MACHINES["one contact off"](seed)                         # edge times
    recording = MACHINES["warming, keyed by hand"](seed, "oscilloscope")  # samples; "any" draws the instrument too
"""
