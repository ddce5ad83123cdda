"""Asking for an instrument file one measurement at a time: questions, answers, the file they make. No terminal."""
