"""Hydraulic against all-electric on one demand: figures of a side, table, budget and verdict, and crossovers."""
