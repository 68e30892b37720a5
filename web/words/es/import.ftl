### Traer archivos: máquinas, personas, repuestos, lecturas del horómetro.

import-password-why = Con esto se dan derechos a personas. Usted dio su contraseña hace más de un cuarto de hora.
import-title = Traer un archivo
import-set-up-about = Máquinas, personas, repuestos y lecturas del horómetro desde una tabla, de una vez.
import-how = El archivo es una tabla (CSV). Su primera línea nombra las columnas, en cualquier orden. Primero se muestra lo que haría. No se toma nada antes de que usted lo diga, y entonces se toma todo o nada.
import-which = ¿Qué hay en el archivo?
import-kind-machines = Máquinas
import-kind-people = Personas
import-kind-parts = Repuestos
import-kind-readings = Lecturas del horómetro
import-about-machines = Máquinas nuevas, u otra clase, descripción o número de serie. Las horas de motor, el estado y la retirada se toman solo para máquinas nuevas. Una máquina nueva que estaba fuera de servicio o en vigilancia queda retenida aquí hasta que alguien levante la retención.
import-about-people = Cada persona nueva recibe un enlace de un solo uso, como cuando se añade a mano. «Disabled» se toma solo para personas nuevas.
import-about-parts = Una línea por repuesto y patio. Lo que hay en la ubicación entra como recepción, por lo que vale, donde todavía no se ha movido nada. Lo que ya se movió se corrige en un recuento.
import-about-readings = Lecturas del horómetro, una por línea. Una más nueva mueve el horómetro; una más antigua completa el historial. O el archivo de una flota según ISO 15143-3 (AEMP 2.0), en XML o JSON: las máquinas se buscan por número de serie y después por número de unidad.
import-file = El archivo
import-file-hint = Como máximo { $most } MB y { $rows } líneas, en UTF-8. Con punto y coma entre columnas, las cifras llevan coma decimal; con comas, punto decimal.
import-look = Ver lo que haría
import-template = Un archivo vacío para llenar
import-columns = Columnas
import-column = Columna
import-column-about = Qué dice
import-column-example = Ejemplo
import-column-needed = necesaria
import-column-optional = puede faltar
import-back = Traer otro archivo
import-back-set-up = Volver a los ajustes
import-would = Lo que haría este archivo
import-counts = { $added } por añadir, { $changed } por cambiar, { $same } ya están así.
import-nothing-to-do = Todo lo de este archivo ya está así. No hay nada que tomar.
import-faults = { $count ->
    [one] Antes hay que corregir una cosa. Hasta entonces no se toma nada.
   *[other] Antes hay que corregir { $count } cosas. Hasta entonces no se toma nada.
 }
import-line = Línea
import-what = Qué
import-outcome = Qué ocurre
import-changes = En detalle
import-fault = Qué está mal
import-more-rows = { $count } líneas más no se muestran. También se toman.
import-unknown = { $count ->
    [one] Una máquina de este archivo no se conoce aquí. Se deja fuera.
   *[other] { $count } máquinas de este archivo no se conocen aquí. Se dejan fuera.
 }
import-take = Tomarlo todo
import-taken = Tomado
import-taken-counts = { $added } añadidas, { $changed } cambiadas, { $same } ya estaban así.
import-links = { $count ->
    [one] Un enlace, que se muestra solo esta vez
   *[other] { $count } enlaces, que se muestran solo esta vez
 }
import-no-file = Elija un archivo.
import-from-to = { $column }: { $before } ⟶ { $after }
import-is = { $column } = { $after }
import-empty-cell = vacío

import-outcome-added = se añade
import-outcome-changed = cambia
import-outcome-already-so = ya está así

import-about-unit-number = Como está pintado en la máquina. Indica de qué máquina trata la línea.
import-about-yard = Nombre del patio. Una máquina conocida se queda en su patio.
import-about-class = Por ejemplo cuatrimoto o tractor. Decide qué lista de revisión se usa.
import-about-description = Qué es, en pocas palabras.
import-about-serial = El número de serie del fabricante.
import-about-hours = Lo que marca el horómetro.
import-about-standing = apta para el uso, en vigilancia, fuera de servicio o retirada.
import-about-retired = El día en que se retiró. Vacío para una máquina en uso.
import-about-name = Nombre y apellido.
import-about-mail = Con ella entra. Indica de qué persona trata la línea.
import-about-roles = operador, mecánico, supervisor, propietario; varios con | entre ellos.
import-about-yards = Nombres de patios, con | entre ellos. Un propietario ve todos los patios.
import-about-rate = Por una hora de mano de obra.
import-about-disabled = sí o no.
import-about-part-number = Indica de qué repuesto trata la línea.
import-about-part-name = Cómo se llama.
import-about-part-unit = En qué se cuenta: pieza, juego, L.
import-about-part-yard = El patio de esta ubicación.
import-about-bin = Dónde está.
import-about-on-hand = Cuánto hay allí al empezar.
import-about-worth = Lo que vale todo junto.
import-about-reading-unit = Como está pintado en la máquina.
import-about-reading-hours = Lo que marcaba el horómetro.
import-about-read-at = Cuándo. Según el reloj del patio, o con su diferencia horaria (RFC 3339).
import-about-confirmed = sí cuando se cambió el horómetro o saltó por otra buena razón.

import-at-line = Línea { $line }: { $sentence }
import-at-cell = Línea { $line }, { $column }: { $sentence }
import-too-large = El archivo supera los { $most } MB. Divídalo en varios.
import-too-many-rows = Hay más de { $most } líneas. Divida el archivo en varios.
import-not-utf8 = Esta línea no está escrita en UTF-8. Guarde el archivo otra vez como «CSV UTF-8».
import-empty = El archivo está vacío.
import-no-rows = No hay nada debajo de la primera línea.
import-unreadable = El archivo no se puede leer como tabla: { $fault }.
import-open-quote = Aquí se abre una comilla que nunca se cierra. Ciérrela, o escríbala dos veces si pertenece al texto.
import-cells = Esta línea tiene { $has } celdas y la primera línea { $needs }. Dé a cada columna su celda, aunque esté vacía.
import-column-twice = La columna aparece dos veces. Quite una de ellas.
import-column-unknown = «{ $given }» no es una columna de este archivo. Son estas: { $known }.
import-column-missing = Esta columna es necesaria. Añádala a la primera línea.
import-yes-or-no = Escriba sí o no.
import-decimal-comma = En un archivo con punto y coma el signo decimal es la coma, y no se pone nada entre los millares.
import-decimal-point = En un archivo con comas el signo decimal es el punto, y no se pone nada entre los millares.
import-date = Escriba la fecha como 2026-11-24, 2026-11-24 16:30 o 2026-11-24T16:30:00+01:00.
import-cell-empty = Rellene esta celda.
import-standing = Escriba apta para el uso, en vigilancia, fuera de servicio o retirada, o deje la celda vacía.
import-stands-twice = Ya está en la línea { $first }. Quite una de las dos.
import-no-yards = Todavía no hay ningún patio. Añada uno primero.
import-unknown-yard = No hay para usted ningún patio «{ $name }». Hay: { $known }.
import-other-yard = Esta máquina pertenece a { $yard }. Un archivo no traslada máquinas.
import-unknown-role = «{ $given }» no es un rol. Escriba operador, mecánico, supervisor o propietario.
import-worth-needed = Diga cuánto vale; 0 si nada.
import-part-unit = Este repuesto ya se cuenta en { $unit }. Un archivo no cambia eso.
import-part-name = Este repuesto se llama «{ $name }» en una línea anterior.
import-stock-has-moved = Aquí ya se ha movido este repuesto: hay { $has }, por valor de { $worth }. Corríjalo en un recuento y deje la celda vacía.
import-unknown-machine = No hay para usted ninguna máquina con este número.
import-reading-differs = Para este momento ya se conocen { $hours } horas de motor.
import-in-the-future = Eso todavía no ha llegado.
import-falls-after = El horómetro retrocedería: { $hours } aquí y { $next } después. Corrija la lectura, o escriba sí en «confirmed».
import-held = Estaba { $standing } en el archivo del que viene. Mírela antes de usarla.
import-receipt-note = De un archivo

hours-file-none = No hay CumulativeOperatingHours en este archivo.
hours-file-no-xml = El archivo no es XML válido: { $fault }.
hours-file-no-json = El archivo no es JSON válido: { $fault }.
hours-file-entity = El archivo usa una entidad propia «{ $name }». Esos archivos no se leen.
hours-file-doctype = El archivo empieza con un tipo de documento (DOCTYPE). Esos archivos no se leen.
hours-file-cut-off = El archivo termina a la mitad. Descárguelo otra vez.
hours-file-hour = Esto no es un número de horas.
hours-file-datetime = Esto no es una fecha como la escribe ISO 8601.
