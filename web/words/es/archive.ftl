### El registro de una máquina en un solo archivo.

archive-take = El registro completo (ZIP)
archive-read-me = El registro de { $unit }, tal como estaba el { $made }.

    record.html       el registro tal como se muestra
    machine.json, checks.json, defects.json, holds.json, work-orders.json, releases.json
                      todo aquello de lo que se compone; las horas son UTC, los importes son unidades menores de la moneda
    photos/           las fotos, cada una con el SHA-256 de sus bytes por nombre; photos.json dice qué muestra cada una
    audit.jsonl       el registro de auditoría de la máquina: un apunte por línea, con el texto del que se sacó el hash y su hash
    audit-head.json   dónde termina
    verify_chain.py   comprueba el registro de auditoría y las fotos; solo necesita Python 3: python3 verify_chain.py

    Cada apunte contiene el hash del anterior, de modo que nada se puede cambiar, quitar ni intercalar sin que todos los hashes
    posteriores sean otros. Para saber que no se rehízo todo el registro, compare el último hash con uno que le dieran antes.
