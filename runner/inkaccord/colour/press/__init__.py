"""The press model of a pair: fitted to readings, it says what a build looks like and how sure.

From the paper up: `neugebauer` and `tone` make the `halftone` model; `rgb_screen` and `rgb_inks`
put a driver in front of it; `priors` and `population` say what is known before a reading.
`fitting`, `evidence` and `residual` learn the rest; `kriging` predicts; `faults`, `kin` and `drift`
deal with bad readings, other papers and other days. `model` is the door.
"""
