### El registro de auditoría.

audit-title = Auditoría
audit-export = Exportar como CSV
audit-about = Las entradas solo se añaden. Cada una lleva el hash de la anterior de su cadena, de modo que se nota si una cambia o falta. { $command } vuelve a calcularlas todas.
audit-search = Quién, qué o por qué
audit-machine = Máquina
audit-show = Mostrar
audit-show-all = Mostrar todo
audit-none = Ninguna entrada coincide.
audit-count = { $count ->
    [one] { $count } entrada, lo más reciente primero, horas en { $zone }
   *[other] { $count } entradas, lo más reciente primero, horas en { $zone }
 }
audit-newest = Las { $count } entradas más recientes, lo más reciente primero, horas en { $zone }
audit-when = Cuándo
audit-who = Quién
audit-what = Qué
audit-from = De
audit-to = A
audit-why = Por qué
audit-chain = Cadena
audit-place = { $chain } n.º { $number }
