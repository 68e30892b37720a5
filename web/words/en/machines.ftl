### The list of machines.

machines-yard = Yard
machines-class = Class
machines-standing = Standing
machines-unit-number = Unit number
machines-all-yards = All yards
machines-all-classes = All classes
machines-any-standing = Any standing
machines-labels = Labels to print
machines-none-fits = No machine here fits that. A unit number may be typed as it is said: u7 finds U-07.
machines-show-all = Show all machines
machines-none-yet = No machine is set up yet. Add a yard first, then its machines.
machines-set-up-yard = Set up a yard
machines-none-in-yards = No machine is set up in your yards yet. Ask your supervisor.
machines-some = { $count } machines, and there are more
machines-count = { $count ->
    [one] 1 machine
   *[other] { $count } machines
 }
machines-never = never
machines-hours = { $hours } h
