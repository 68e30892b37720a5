### El almacén.

store-title = Almacén
store-add = Añadir un repuesto
store-empty = El almacén todavía no tiene repuestos. Añada el primero y luego dé entrada a lo que hay en el estante.
store-count = { $count ->
    [one] { $count } repuesto
   *[other] { $count } repuestos
 }
store-part = Repuesto
store-number = Número
store-bin = Estante
store-on-hand = Existencias
store-reserved = Reservado
store-free = Libre
store-expected = Previsto
store-worth = Valor
store-none = ninguno
store-was-due = se esperaba
store-total = Total
store-back = Volver al almacén
store-name = Nombre
store-part-number = Número de repuesto
store-as-on-box = Como en la caja.
store-unit = Unidad
store-unit-hint = En qué se cuenta: «each» por piezas, L, m, kg …
store-bin-hint = Dónde está. Puede dejarse vacío.
store-add-this = Añadir este repuesto
store-nothing-coming = No hay nada en camino.
store-receive = Dar entrada
store-note = Nota
store-note-hint = Albarán o proveedor. Puede dejarse vacío.
store-expected-on = Previsto para
store-save-day = Guardar el día
store-ledger = Libro de movimientos
store-nothing-yet = Todavía no ha entrado ni salido nada.
store-newest-first = Lo más reciente primero
store-when = Cuándo
store-movement = Movimiento
store-how-many = Cantidad
store-value = Valor
store-who = Quién
store-quantity-in = Cantidad, { $unit }
store-value-in = Lo que costó todo, { $currency }
store-each = pieza
