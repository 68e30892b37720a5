### Lo que llegó más tarde de lo que se registró.

trail-hold-counts-from = { $reason }. Cuenta desde { $since }, cuando se registró.
check-retired-meanwhile = { $unit } se retiró después de registrar esta revisión, así que nadie más la ha visto. Si algo estaba mal en la máquina, avise al supervisor.
