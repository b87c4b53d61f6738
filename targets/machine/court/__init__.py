"""A page on court for phones beside a replay: it shows the next ball, marks, pauses and stops. It never starts."""
