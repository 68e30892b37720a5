### What arrived later than it was recorded.

trail-hold-counts-from = { $reason }. Counts from { $since }, when it was recorded.
check-retired-meanwhile = { $unit } was retired after this check was recorded, so nobody else has seen the check. If anything was wrong with the machine, tell the supervisor.
