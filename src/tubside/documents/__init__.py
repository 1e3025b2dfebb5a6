"""What leaves the house in a form that others read: calendars, cards and messages."""
