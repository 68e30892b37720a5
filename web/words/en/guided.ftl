### Words of the guided report, of what is watched, and of checks to look at.

watched-same = same
watched-worse = worse
watched-gone = gone

harm-could-kill-or-disable-for-life = could kill or disable for life
harm-could-put-somebody-in-hospital = could put somebody in hospital
harm-could-cost-a-day-off-work = could cost a day off work
harm-cannot-hurt-anybody = cannot hurt anybody
harm-not-sure = not sure
yes-or-no-yes = yes
yes-or-no-no = no
yes-or-no-not-sure = not sure
certain-seen-or-felt = seen or felt
certain-likely = likely
certain-suspected = suspected
certain-not-sure = not sure

## MIL-STD-882E, Tables I to III.

category-catastrophic = catastrophic
category-critical = critical
category-marginal = marginal
category-negligible = negligible
probability-frequent = frequent
probability-probable = probable
probability-occasional = occasional
probability-remote = remote
probability-improbable = improbable
probability-eliminated = eliminated
risk-level-eliminated = eliminated
risk-level-low = low
risk-level-medium = medium
risk-level-serious = serious
risk-level-high = high

## What is odd about a check.

sign-answered-quickly = answered quickly
sign-same-figures-again = same figures again
sign-hours-that-do-not-fit = hours that do not fit
watched-rule-worse = said to be worse
