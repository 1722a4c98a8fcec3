"""The report: a sizing as it stands on the wire, shown as page, drawing, plots and parts list.

Renders and computes nothing: every number comes from the sizing, at most rounded. Knows no web framework.
"""
