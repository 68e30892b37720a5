## Las listas de revisión y lo que hay en ellas.

figure-no-unit = { $given } no tiene unidad. Escriba la cifra, un espacio y la unidad, por ejemplo 100 kPa.
picture-dipstick = Una varilla con el aceite entre sus dos marcas
picture-fluid-marks = Un depósito de líquido con el nivel entre sus dos marcas
picture-air-filter = Un filtro de aire bien asentado en su caja, con los dos cierres cerrados
picture-brake-pad = Una pastilla de freno sobre el disco: mida el forro, no la placa de metal
picture-brake-disc = Un disco de freno con surcos de desgaste y una grieta desde el borde
picture-tyre-gauge = Un manómetro aplicado recto sobre la válvula del neumático
picture-seat-belt = Un cinturón de seguridad cerrado y una mano que tira de él
picture-leak = Gotas bajo la unión de una manguera y una mancha en el suelo
picture-hitch-pin = Un pasador de enganche que atraviesa su soporte, con el seguro puesto
picture-track-sag = Una oruga que cuelga entre dos ruedas, con su flecha medida en el centro
picture-wheel-nuts = Una rueda con cinco tuercas, una de ellas falta
checklist-in-language = En { $language }
checklist-says-in = { $what } ({ $language })
checklist-says-title = Título
checklist-says-stand = Dónde ponerse y qué debe cumplirse antes
checklist-says-caution = Precaución
checklist-says-todo = Qué hacer
checklist-says-accept = Qué es aceptable
checklist-says-positions = Posiciones, en el mismo orden
checklist-says-name = Nombre
checklist-says-instruction = ¿Qué se dice al operador?
