"""The offline page for the chair: it answers from the draws that a model file carries."""
