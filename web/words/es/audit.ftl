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
audit-part = Entradas { $first } a { $last }, lo más reciente primero, horas en { $zone }
audit-older = Más antiguas
audit-when = Cuándo
audit-who = Quién
audit-what = Qué
audit-from = De
audit-to = A
audit-why = Por qué
audit-chain = Cadena
audit-place = { $chain } n.º { $number }

## Cabezas firmadas

heads-title = Cabezas firmadas
heads-about = Una vez al día, el estado de todas las cadenas se resume en una cifra y se firma. Guárdelas fuera de este servidor: en papel, o en un buzón que no pueda cambiar quien lleva el servidor. Así nadie puede cortar ni reescribir entradas después sin que se note.
heads-check = Guarde como archivo un correo con una cabeza, o escriba desde el papel el número y el hash entre la primera y la última línea. { $command } dice si el registro aún contiene todo lo que se firmó.
heads-key = La clave que firma
heads-key-about = Imprímala una vez y guárdela. Una cabeza firmada con otra clave no viene de este servidor.
heads-readers = Se envían a
heads-readers-about = Elija al menos a una persona cuyo buzón no esté en este servidor.
heads-readers-who = Quién recibe cada cabeza por correo
heads-readers-save = Guardar quién las recibe
heads-signed = Las cabezas más recientes
heads-sign = Firmar una ahora
heads-none = Todavía no hay nada firmado. La primera cabeza se firma dentro de la hora siguiente a la primera entrada.
heads-one = Cabeza { $number }, { $when }
heads-over = { $entries ->
    [one] { $entries } entrada
   *[other] { $entries } entradas
 } en { $chains ->
    [one] { $chains } cadena
   *[other] { $chains } cadenas
 }
