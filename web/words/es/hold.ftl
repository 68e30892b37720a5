### Dejar una máquina fuera de servicio a mano.

hold-page-title = Dejar { $unit } fuera de servicio
hold-page-anybody = Cualquiera puede parar una máquina. Nadie puede usar { $unit } hasta que usted o un supervisor levante la retención. Se avisa a los supervisores, mecánicos y propietarios.
hold-page-already = { $unit } ya está fuera de servicio.
hold-page-own-stays = Una retención suya sigue cuando termina la otra.
hold-page-caution = Una retención en el registro no mueve ninguna palanca ni cierra ninguna válvula. Estacione la máquina de forma segura, pare el motor, saque la llave, y bloquee y etiquete según su procedimiento.
hold-page-why = ¿Por qué debe quedarse?
hold-page-why-hint = Lo que vio, oyó u olió, y dónde.
hold-page-report-instead = Mejor comunicar un defecto
hold-page-difference = Un defecto comunicado recibe una orden de trabajo, y su retención termina con la reparación. Una retención puesta aquí termina cuando alguien la levanta.
