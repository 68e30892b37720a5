### Los registros del propietario: sacarlo todo, y cuánto se conserva.

records-title = Registros
records-set-up-about = Sacarlo todo en un archivo, y decir cuánto tiempo se conservan los registros.
records-take-out = Sacarlo todo
records-take-out-about = Un archivo (ZIP) con una tabla (CSV) por clase: máquinas, personas, repuestos, lecturas, revisiones, defectos, retenciones, órdenes de trabajo, mano de obra, almacén, devoluciones al servicio, correos y el registro de auditoría con su prueba. No contiene contraseñas ni PIN. Contiene nombres y direcciones: guárdelo bien.
records-take-out-do = Sacarlo todo
records-keep = Cuánto se conservan los registros
records-keep-about = Todo se conserva para siempre si usted no dice otra cosa. Las leyes nombradas aquí son las que conocemos y pueden no ser las suyas: la ley local va primero. Pregunte también a su aseguradora.
records-never = Nunca se elimina nada de una máquina con un defecto, una retención o una orden de trabajo abiertos (30 CFR 56.14100(d): los registros de defectos hasta que se corrigen), ni mientras otro registro lo necesite. Las fotos, las órdenes de trabajo, la mano de obra, las devoluciones al servicio, los libros del almacén y el registro de auditoría se quedan.
records-months = Meses
records-months-hint = Al menos { $least }; lo habitual: { $usual }. Vacío los conserva para siempre.
records-about-checks = Revisiones que no encontraron nada. La última de cada máquina se queda, las que tienen fotos se quedan, y las que tienen medidas o algo corregido se quedan al menos { $months } meses: las reglas las miran.
records-about-repairs = Defectos cerrados con sus observaciones, nuevas comprobaciones y retenciones levantadas: al menos { $months } meses para una máquina en uso, porque las reglas los miran. Cuando una máquina se ha ido se quedan al menos { $left } meses. Los que tienen fotos se quedan.
records-about-alerts = Correos que se entregaron. El que avisó de una retención se queda tanto como el registro de la retención.
records-about-messages = Mensajes a otros programas (webhooks) que estos aceptaron.
records-law-checks = 49 CFR 396.11(a)(4): el informe de inspección del conductor, tres meses.
records-law-repairs = 49 CFR 396.3(c): un año, y seis meses después de que el vehículo se va.
records-law-alerts = No conocemos ninguna ley.
records-goes = { $count ->
    [one] Se elimina un registro, del { $first }: es de antes del { $before }.
   *[other] Se eliminan { $count } registros, desde el { $first }: son de antes del { $before }.
 }
records-nothing-goes = A día de hoy no se elimina nada: ningún registro es de antes del { $before }.
records-would-go = { $count ->
    [0] No hay nada fijado. Con el plazo habitual, a día de hoy no se eliminaría nada.
    [one] No hay nada fijado. Con el plazo habitual, a día de hoy se eliminaría un registro: es de antes del { $before }.
   *[other] No hay nada fijado. Con el plazo habitual, a día de hoy se eliminarían { $count } registros: son de antes del { $before }.
 }
records-sure = Lo que se elimina no vuelve. Antes, sáquelo todo.
records-save = Guardar y eliminar lo más antiguo
records-look = Ver qué se eliminaría
records-only-looking = Abajo se ve qué se eliminaría. Todavía no hay nada fijado.

record-kind-checks = Revisiones
record-kind-repairs = Reparaciones
record-kind-alerts = Correos
record-kind-messages = Mensajes a otros programas

retention-months = Dé meses enteros de { $least } a { $most }, o deje la celda vacía para conservarlo todo.
retention-for-months = { $count ->
    [one] se conserva un mes
   *[other] se conserva { $count } meses
 }
retention-for-ever = se conserva para siempre
retention-span = { $count } del { $first } al { $last }
retention-by-itself = por sí solo, como lo fijó el propietario

export-readme-file = LEEME.txt
export-readme =
    Todo lo que Chock guarda, a { $made }.

    Cada archivo .csv es una tabla según RFC 4180: UTF-8, comas, una primera línea con los nombres de las columnas.
    Las horas son UTC según RFC 3339. Los importes están en { $currency }. Las horas de motor, en horas.
    Una celda que una hoja de cálculo ejecutaría como fórmula empieza con un apóstrofo; quítelo para tener el texto.

    machines.csv, people.csv, parts.csv y readings.csv se pueden llevar a otro Chock, en este orden
    (añada antes los patios de yards.csv): chock import machines machines.csv
    Una máquina que estaba fuera de servicio o en vigilancia queda retenida allí hasta que alguien la mire.
    Este archivo no contiene contraseñas, PIN, enlaces ni fotos.

    audit.csv es el registro de auditoría. En cada línea, el SHA-256 de «hashed» (UTF-8) es «hash», en hexadecimal.
    «hashed» es una lista JSON de lo que dice la línea; su último miembro es el «hash» de la línea anterior del
    mismo «stream», y está vacío en la primera. Así nadie puede cambiar, añadir ni quitar una línea sin que se note.
