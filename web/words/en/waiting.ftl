### What a work order waits for.

waiting-something = something
waiting-noted = { $what }: { $note }
waiting-dated = { $what }, expected { $day }
waiting-late = { $what }, was expected { $day }
waiting-undated = { $what }, no date given
