### Palabras que aparecen en muchas páginas.

parts-caution = Precaución
parts-answers-need = { $count ->
    [one] Hay una respuesta que revisar
   *[other] Hay { $count } respuestas que revisar
 }
parts-answers-more = Y { $count } más: cada una está marcada abajo.
parts-law = La ley local, el manual del fabricante y la práctica autorizada van primero. Una retención es un registro administrativo: no aísla ninguna energía ni sustituye al bloqueo y etiquetado.
parts-as-of = Situación de { $when }
parts-look-again = Mirar de nuevo
parts-back-to = Volver a { $unit }
parts-print = Imprimir
parts-show = Mostrar
parts-more = Más
parts-first = Volver al principio
parts-next = { $count } siguientes
parts-csv = Exportar como CSV
parts-qr = Símbolo QR que lleva a la página de { $unit }
parts-manifest = Revisiones previas al uso, defectos, reparación y devolución al servicio
