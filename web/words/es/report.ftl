### Comunicar un defecto, y qué fue de él.

report-page-title = Comunicar un defecto de { $unit }
report-page-what-hint = Lo que vio, oyó, notó u olió, y en qué parte de la máquina.
report-page-caution = Pare el motor y asegure la máquina antes de mirar más de cerca. No busque una fuga con la mano y mantenga lejos las llamas.
report-page-open-is-worst = Lo que deje sin responder cuenta como «no lo sé», y «no lo sé» cuenta como la peor respuesta.
report-page-then-out = Entonces { $unit } queda fuera de servicio hasta que alguien la mire.
report-page-risk-level = Las respuestas dan un nivel de riesgo según MIL-STD-882E.
report-page-without-checklist = Sin lista de revisión, { $unit } queda fuera de servicio a partir del nivel «{ $level }».
report-page-by-checklist = Según la lista de revisión «{ $checklist }», { $unit } queda fuera de servicio a partir del nivel «{ $level }».
report-page-certain = Un efecto cierto en frenos, dirección, sujeción, combustible o fuego la deja siempre fuera de servicio.
report-page-photo-hint = Puede omitirse.
report-page-photo-again = Elíjala otra vez: el navegador no la conserva.
report-page-send = Comunicarlo

## Las preguntas guiadas.

report-ask-affects = ¿Qué está afectado?
report-ask-affects-hint = Elija «nada de esto» solo si está seguro.
report-ask-fire = ¿Puede arder?
report-ask-fire-hint = Echa humo o huele a quemado, o el combustible o el aceite pueden llegar a algo caliente.
report-ask-harm = ¿Puede hacer daño a alguien?
report-ask-harm-hint = Lo peor que puede pasar mientras se usa la máquina.
report-ask-worse = ¿Está empeorando?
report-ask-certain = ¿Cómo lo sabe?
report-answer-none-of-these = nada de esto
report-answer-seen = lo vi o lo noté
report-answer-likely = es probable
report-answer-suspected = solo lo sospecho
report-answer-not-sure = no lo sé
