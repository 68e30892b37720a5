### Cuándo se prevé que una máquina esté de vuelta.

forecast-days = Indique de 1 a 400 días.
forecast-no-such-order = Indique el número de una orden de trabajo abierta en uno de sus patios.
forecast-waits-for-nothing = Esa orden de trabajo no espera nada que tenga fecha.
