### Palabras del aviso guiado, de lo que está en vigilancia y de las revisiones que mirar.

watched-same = igual
watched-worse = peor
watched-gone = ya no está

harm-could-kill-or-disable-for-life = podría matar o dejar una lesión de por vida
harm-could-put-somebody-in-hospital = podría llevar a alguien al hospital
harm-could-cost-a-day-off-work = podría costar un día de baja
harm-cannot-hurt-anybody = no puede hacer daño a nadie
harm-not-sure = no lo sé
yes-or-no-yes = sí
yes-or-no-no = no
yes-or-no-not-sure = no lo sé
certain-seen-or-felt = visto o notado
certain-likely = probable
certain-suspected = sospechado
certain-not-sure = no lo sé

## MIL-STD-882E, tablas I a III.

category-catastrophic = catastrófica
category-critical = crítica
category-marginal = marginal
category-negligible = insignificante
probability-frequent = frecuente
probability-probable = probable
probability-occasional = ocasional
probability-remote = remota
probability-improbable = improbable
probability-eliminated = eliminada
risk-level-eliminated = eliminado
risk-level-low = bajo
risk-level-medium = medio
risk-level-serious = serio
risk-level-high = alto

## Qué es raro en una revisión.

sign-answered-quickly = respondida deprisa
sign-same-figures-again = otra vez las mismas cifras
sign-hours-that-do-not-fit = horas que no cuadran
watched-rule-worse = dicen que está peor
