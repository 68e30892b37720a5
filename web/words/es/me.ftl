### Lo que una persona elige para sí misma.

me-title = Usted
me-language = Idioma
me-language-hint = De sus páginas y de los correos que recibe.
me-units = Unidades
me-units-hint = En las que se piden las cifras. Lo que se leyó queda como se leyó.
me-units-of-the-machine = las de la lista de la máquina
me-save = Guardar
me-pin = PIN para este dispositivo
me-pin-hint = Para una tableta que usan varias personas.
me-which-language = Elija uno de los idiomas.
me-which-units = Elija uno de los sistemas de unidades.
unit-system-metric--kpa = métricas: kPa, mm, °C, L
unit-system-metric--bar = métricas: bar, mm, °C, L
unit-system-us-customary = EE. UU.: psi, in, °F, US qt
