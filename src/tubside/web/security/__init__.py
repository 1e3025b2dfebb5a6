"""What stands before every page: who may come in, what may be sent, what is told the browser."""
