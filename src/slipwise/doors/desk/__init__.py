"""The desk: a local web page on which a motor, a load and a supply are tried out, and the endpoints behind it."""
