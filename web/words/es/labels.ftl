### Rótulos para las máquinas.

labels-title = Rótulos
labels-back = Volver a las máquinas
labels-how = Pegue uno en cada máquina donde un teléfono pueda verlo: abre la página de la máquina y responde a «¿Puedo tomarla?». En papel resistente a la intemperie duran más.
labels-more = Solo se muestran los primeros { $count }. Elija un patio o una clase para ver los demás.
labels-none = Aquí no hay ninguna máquina que cumpla eso.
labels-check = Revisar antes de usar
