### Lo que llegó más tarde de lo que se registró.

trail-hold-counts-from = { $reason }. Cuenta desde { $since }, cuando se registró.
