"""The pictures of a report: each a pure function from the report to picture values, drawn by the page."""
