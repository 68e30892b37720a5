### What arrived later than it was recorded.

trail-hold-counts-from = { $reason }. Counts from { $since }, when it was recorded.
