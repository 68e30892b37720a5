### What a trend says, to the server alone: scripts count with it and do not say it.

judge-between = between { $least } and { $most }
judge-is-below-now = is below { $figure } now
judge-is-above-now = is above { $figure } now
judge-moves-away = moves away from { $figure }
judge-below-any-time = may be below { $figure } at any time now
judge-above-any-time = may be above { $figure } at any time now
judge-below-within-one = may be below { $figure } within 1 engine hour
judge-above-within-one = may be above { $figure } within 1 engine hour
judge-below-within = may be below { $figure } within { $hours } engine hours
judge-above-within = may be above { $figure } within { $hours } engine hours
judge-unknown = unknown: { $reason }
judge-unknown-replaced = unknown: { $reason } since the part was replaced
judge-unknown-put-right = unknown: { $reason } since it was put right
judge-earlier-readings = { $count ->
    [0] no earlier readings
    [one] only 1 earlier reading
   *[other] only { $count } earlier readings
 }
judge-trend-few = No trend yet: { $count ->
    [one] 1 reading
   *[other] { $count } readings
 } with engine hours, at least { $fewest } are needed.
judge-trend-short = No trend yet: the readings span { $span } h, at least { $shortest } h are needed.
judge-trend-gaps = No trend yet: the readings span { $span } h, less than { $gaps } gaps of { $gap } h.
judge-trend-same = No trend: every reading is the same.
judge-trend-scatter = No trend: the readings scatter more than they rise or fall (5 % level).
