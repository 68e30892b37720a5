### Lo que espera una orden de trabajo.

waiting-something = algo
waiting-noted = { $what }: { $note }
waiting-dated = { $what }, previsto { $day }
waiting-late = { $what }, se esperaba { $day }
waiting-undated = { $what }, sin fecha
