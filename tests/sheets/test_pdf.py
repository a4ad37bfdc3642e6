from register.sheets.pdf import html_to_pdf


def test_nothing_outside_the_document_is_read(tmp_path, caplog):
    secret = tmp_path / "secret.css"
    secret.write_text("body { content: 'read' }")
    style = f'<link rel="stylesheet" href="{secret.as_uri()}">'
    image = '<img alt="x" src="http://127.0.0.1:9/x.png">'
    html = f'<html lang="en"><head><title>x</title>{style}</head><body>{image}</body></html>'
    assert html_to_pdf(html).startswith(b"%PDF")
    failed = [record.getMessage() for record in caplog.records if "Failed" in record.getMessage()]
    assert any("secret.css" in message for message in failed)
    assert any("127.0.0.1:9" in message for message in failed)


def test_equal_documents_give_equal_bytes_and_others_do_not():
    page = '<html lang="en"><head><title>{}</title></head><body>text</body></html>'
    assert html_to_pdf(page.format("a")) == html_to_pdf(page.format("a"))
    assert html_to_pdf(page.format("a")) != html_to_pdf(page.format("b"))


def test_control_characters_are_shown_and_turns_of_direction_left_out():
    """Unicode Standard, 23.8: U+FFFD stands for a character that cannot be shown."""
    page = '<html lang="en"><head><title>x</title></head><body>a{}b</body></html>'
    assert html_to_pdf(page.format("\x07\u202e")) == html_to_pdf(page.format("\ufffd"))
