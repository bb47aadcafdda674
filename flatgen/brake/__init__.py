"""Brake planning."""
