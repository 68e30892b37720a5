### La lista de máquinas.

machines-yard = Patio
machines-class = Clase
machines-standing = Estado
machines-unit-number = Número de unidad
machines-all-yards = Todos
machines-all-classes = Todas
machines-any-standing = Todos
machines-labels = Rótulos para imprimir
machines-none-fits = Aquí no hay ninguna máquina que cumpla eso. El número de unidad se puede escribir como se dice: u7 encuentra U-07.
machines-show-all = Mostrar todas las máquinas
machines-none-yet = Todavía no hay ninguna máquina configurada. Añada primero un patio y después sus máquinas.
machines-set-up-yard = Configurar un patio
machines-none-in-yards = Todavía no hay ninguna máquina configurada en sus patios. Pregunte a su supervisor.
machines-some = { $count } máquinas, y hay más
machines-count = { $count ->
    [one] 1 máquina
   *[other] { $count } máquinas
 }
machines-never = nunca
machines-hours = { $hours } h
