### El registro de una máquina.

record-title = Registro de { $unit }
record-record = Registro
record-as-of = Fecha
record-empty = Todavía no ha pasado nada con { $unit }. Su primera revisión empieza el registro.
record-newest = Lo más reciente primero
record-newest-first = Las { $shown } entradas más recientes de { $count }
record-show-all = Mostrar las { $count } entradas
record-newest-cut = Lo más reciente primero; aquí faltan las entradas más antiguas
record-when = Cuándo
record-entry = Entrada
record-what = Qué
record-by = Por
record-description = Descripción
record-serial = Número de serie
record-careless-none = ninguna en los últimos { $days } días
record-careless-none-said = ninguna en los últimos { $days } días, en lo que su historial permite decir
record-careless-signs = { $count ->
    [one] 1 señal en los últimos { $days } días
   *[other] { $count } señales en los últimos { $days } días
 }

## Clases de entradas.

record-kind-check = revisión
record-kind-defect-raised = defecto abierto
record-kind-defect-closed = defecto cerrado
record-kind-order-opened = orden de trabajo abierta
record-kind-order-ended = orden de trabajo terminada
record-kind-release = devolución al servicio

## Lo que dicen.

record-check = { $verdict }, { $context }
record-check-hours = { $verdict }, { $hours } h, { $context }
record-defect = { $what } ({ $marks })
record-back-soon = volvió poco después de la devolución al servicio
record-said-gone = dicen que ya no está
record-closed-no-fault = { $what }. No se encontró ningún fallo
record-closed = { $what }. Causa: { $cause }; hecho: { $remedy }
record-order = orden de trabajo { $number }
record-order-ended = orden de trabajo { $number }: { $how }
record-order-ended-cost = orden de trabajo { $number }: { $how }, costo { $cost }
record-released = devuelta al servicio
record-released-by-repairer = devuelta al servicio por quien la reparó
record-released-noted = { $how }. «{ $note }»
