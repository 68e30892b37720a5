### When a machine is foreseen to be back.

forecast-days = Give 1 to 400 days.
forecast-no-such-order = Give the number of an open work order in one of your yards.
forecast-waits-for-nothing = That work order waits for nothing that has a date.
