### Lo que da su lugar a una orden en la cola.

## Por qué una orden de trabajo está en su lugar de la cola: unidas con punto y coma

place-out-of-service = la máquina está fuera de servicio
place-usable = la máquina se puede usar mientras tanto
place-yard-lacks = hoy faltan { $short } en el patio ({ $class })
place-good-until-passed = su plazo ha vencido
place-good-until-today = su plazo vence hoy
place-good-for = { $days ->
    [one] le queda un día de plazo
   *[other] le quedan { $days } días de plazo
}
place-opened-within-the-hour = abierta hace menos de una hora
place-open-for-hours = { $hours ->
    [one] abierta desde hace una hora
   *[other] abierta desde hace { $hours } horas
}
place-open-for-days = { $days ->
    [one] abierta desde hace un día
   *[other] abierta desde hace { $days } días
}
place-pinned = fijada por { $name }
place-work-left = { $hours ->
    [0] se esperan { $minutes } min de trabajo
   *[other] se esperan { $hours } h { $minutes } min de trabajo
 }
place-asks-for-skill = Este trabajo pide a alguien con conocimientos de: { $systems }.

## En el registro de auditoría

trail-act-work-order-pinned = orden de trabajo fijada
trail-act-work-order-unpinned = orden de trabajo ya no fijada
trail-act-work-order-split = orden de trabajo dividida
trail-act-work-orders-merged = órdenes de trabajo unidas
trail-act-note-left = nota dejada
trail-act-sent-for-repair-outside = enviada a reparar fuera
trail-act-repair-outside-promised = reparación externa prometida
trail-act-repair-outside-asked-after = reparación externa reclamada
trail-act-back-from-repair-outside = de vuelta de la reparación externa
trail-act-repair-outside-invoiced = reparación externa facturada
trail-act-repair-outside-called-off = reparación externa desistida
trail-act-repair-outside-late = reparación externa con retraso

act-pin-work-order = fijar una orden de trabajo
