"""The PDF library's side of a packet: fonts, flowables, pages, form fields, attachments."""
