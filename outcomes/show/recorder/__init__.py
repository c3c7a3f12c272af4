"""The page that makes good logs: it runs beside the chair, keeps what was tapped, and exports a log."""
