### Qué fue de lo que uno comunicó.

my-reports-none = Todavía no ha comunicado nada. Lo que encuentren sus revisiones y lo que usted comunique aparece aquí, con lo que fue de ello.
my-reports-find = Buscar una máquina
my-reports-reported = Comunicado { $when }.
my-reports-watched = Está en vigilancia.
my-reports-watched-until = Está en vigilancia, hasta { $until }.
my-reports-held = La máquina está fuera de servicio hasta que se repare.
my-reports-repaired = Reparado: { $remedy }. Faltan la nueva comprobación y la devolución al servicio.
my-reports-retested = Reparado: { $remedy }. La nueva comprobación salió bien. Falta la devolución al servicio.
my-reports-no-fault = El mecánico no encontró ningún fallo. Faltan la nueva comprobación y la devolución al servicio.
my-reports-no-fault-retested = El mecánico no encontró ningún fallo. La nueva comprobación salió bien. Falta la devolución al servicio.
my-reports-closed-no-fault = Cerrado { $when }: no se encontró ningún fallo y la nueva comprobación salió bien.
my-reports-closed = Cerrado { $when }. Causa: { $cause }. Hecho: { $remedy }.
