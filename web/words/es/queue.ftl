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
queue-done-by = trabajo hecho por { $mechanic }; falta comprobar de nuevo y devolver al servicio
queue-with = { $state }, con { $mechanic }
queue-waits = Espera { $what }. Con { $mechanic }.
