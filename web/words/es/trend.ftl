### Lo que dice una tendencia, solo para el servidor: los programas la calculan y no la dicen.

judge-between = entre { $least } y { $most }
judge-is-below-now = ya está por debajo de { $figure }
judge-is-above-now = ya está por encima de { $figure }
judge-moves-away = se aleja de { $figure }
judge-below-any-time = puede bajar de { $figure } en cualquier momento
judge-above-any-time = puede pasar de { $figure } en cualquier momento
judge-below-within-one = puede bajar de { $figure } en 1 hora de motor
judge-above-within-one = puede pasar de { $figure } en 1 hora de motor
judge-below-within = puede bajar de { $figure } en { $hours } horas de motor
judge-above-within = puede pasar de { $figure } en { $hours } horas de motor
judge-unknown = no se sabe: { $reason }
judge-unknown-replaced = no se sabe: { $reason } desde que se cambió la pieza
judge-unknown-put-right = no se sabe: { $reason } desde que se corrigió
judge-earlier-readings = { $count ->
    [0] ninguna lectura anterior
    [one] solo 1 lectura anterior
   *[other] solo { $count } lecturas anteriores
 }
judge-trend-few = Sin tendencia todavía: { $count ->
    [one] 1 lectura
   *[other] { $count } lecturas
 } con horas de motor, hacen falta al menos { $fewest }.
judge-trend-short = Sin tendencia todavía: las lecturas abarcan { $span } h, hacen falta al menos { $shortest } h.
judge-trend-gaps = Sin tendencia todavía: las lecturas abarcan { $span } h, menos de { $gaps } intervalos de { $gap } h.
judge-trend-same = Sin tendencia: todas las lecturas son iguales.
judge-trend-scatter = Sin tendencia: las lecturas varían más de lo que suben o bajan (nivel del 5 %).
