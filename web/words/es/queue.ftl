### La cola de órdenes de trabajo.

queue-title = Cola
queue-where = { $yard } · orden de trabajo { $number }, abierta { $opened }
queue-open = Abrir
queue-open-aria = Abrir la orden de trabajo { $number }, { $unit }
queue-claim = Tomar
queue-claim-aria = Tomar la orden de trabajo { $number }, { $unit }
queue-yours = Las suyas
queue-next = Siguientes
queue-empty = Ninguna orden de trabajo espera a un mecánico. Cuando una revisión falla, su orden de trabajo llega aquí sola.
queue-done = Nueva comprobación y devolución al servicio
queue-waiting = En espera
queue-others = Con otras personas
queue-what = { $what }{ $more ->
    [0] { "" }
    [one] {" "}y uno más
   *[other] {" "}y { $more } más
 }
queue-no-defect = Ningún defecto
queue-done-by = Trabajo hecho por { $mechanic }; falta comprobar de nuevo y devolver al servicio
queue-with = { $state }, con { $mechanic }
queue-waits = Espera { $what }. Con { $mechanic }.
queue-waits-unclaimed = Espera { $what }. Todavía nadie la tiene; quien quiera mirar más de cerca puede tomarla.

## Lo fijado, lo que está fuera y las páginas

queue-forecasts = Cuándo vuelven las máquinas
queue-away = Fuera, en reparación
queue-away-late = En { $vendor }, con { $by } de retraso. Pregunte dónde está.
queue-away-no-promise = En { $vendor } desde hace { $since }; nadie dijo hasta cuándo.
queue-away-until = En { $vendor }, prometida: { $day }.
queue-away-licensed = Trabajo con licencia ({ $licensed }): vuelve con el número de la licencia.
queue-pin = Fijar
queue-unpin = Dejar de fijar
queue-pin-aria = Fijar la orden de trabajo { $number }, { $unit }: esta primero
queue-unpin-aria = Dejar de fijar la orden de trabajo { $number }, { $unit }
queue-pages = Páginas de la cola
queue-earlier = Lugares anteriores
queue-later = Lugares siguientes
notice-pinned = Fijada: ahora es la primera.
notice-unpinned = Ya no está fijada.
notice-noted = La nota está en la orden de trabajo.
notice-photo-kept = La foto está en la orden de trabajo.
notice-split = El defecto tiene ahora su propia orden de trabajo.
notice-merged = Las dos órdenes de trabajo son ahora una sola.
notice-sent-outside = Anotado. La máquina sigue como está hasta que vuelva y se devuelva al servicio.
notice-outside-told = Anotado.
