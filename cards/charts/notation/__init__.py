"""Each way of writing a chart, as marks."""
