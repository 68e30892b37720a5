### Labels for the machines.

labels-title = Labels
labels-back = Back to the machines
labels-how = Stick one on each machine where a phone can see it: it opens the machine's page and answers “Can I take it?”. On weatherproof paper they last longer.
labels-more = Only the first { $count } are shown. Choose a yard or a class to see the others.
labels-none = No machine here fits that.
labels-check = Check before use
