"""Small troubleshooting problems solved exactly, larger ones between proven bounds."""
