### Checks to look at.

careless-page-title = Checks to look at
careless-page-what-it-is = Checks of the last { $days } days that are odd by the machine's own history. A sign is a reason to look, not a fault: there are good reasons for each. Nobody is scored, and nobody is mailed.
careless-page-no-machine = There is no machine in use in this yard yet.
careless-page-none-odd = { $count ->
    [one] 1 machine looked at: no check of it is odd.
   *[other] { $count } machines looked at: none of their checks is odd.
 }
careless-page-check = Check
careless-page-sign = Sign
careless-page-what = What is odd
careless-page-next = Next { $count } machines
careless-page-silences = { $count ->
    [one] 1 machine with too little history
   *[other] { $count } machines with too little history
 }
careless-page-how = How it is judged
