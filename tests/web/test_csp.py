"""The answer's headers, as the browser's rules read them (W3C Content Security Policy Level 3)."""


def test_every_answer_forbids_inline_scripts_other_hosts_and_framing(client, db):
    for address in ("/admin/login/", "/no-such-page/"):
        headers = client.get(address).headers
        policy = dict(directive.split(" ", 1) for directive in headers["Content-Security-Policy"].split("; "))
        assert policy["default-src"] == "'self'"
        assert policy["frame-ancestors"] == policy["base-uri"] == policy["object-src"] == "'none'"
        assert policy["form-action"] == "'self'"
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"
