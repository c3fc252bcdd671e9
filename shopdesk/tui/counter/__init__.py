"""The counter: what is on the floor, a core taken in, a job found."""
