### La etiqueta en una máquina retenida.

tag-title = Etiqueta de { $unit }
tag-how = Imprímala en cartulina A5. Sujétela con cordel, alambre o cinta donde el conductor no pueda dejar de verla: en el volante o el manillar. Se queda puesta mientras { $unit } esté retenida.
tag-danger = PELIGRO
tag-warning = ADVERTENCIA
tag-do-not-use = NO USAR
tag-machine = Máquina
tag-and-more = y { $count } más
tag-held-by = Retenida por
tag-since = Desde
tag-do-not-remove = No quite esta etiqueta.
tag-no-lockout = Esta etiqueta no aísla ninguna energía ni sustituye al bloqueo y etiquetado.
tag-until-release = Solo una devolución al servicio firmada permite usar de nuevo { $unit }.
tag-until-one = Solo { $who } o un supervisor levanta esta retención.
tag-until-several = Solo quienes pusieron estas retenciones o un supervisor las levantan.
tag-not-held = { $unit } no está retenida, así que no hay etiqueta que imprimir.
