### Por qué no se hizo algo, y cómo remediarlo.

pin-four-to-eight = Elija de 4 a 8 cifras, nada más.
