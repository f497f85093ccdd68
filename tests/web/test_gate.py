"""Who may speak to the page, asked of the running server."""

from web_kit import OpenPage


def test_the_address_stands_alone_and_gives_a_cookie_that_no_script_reads(opened: OpenPage) -> None:
    came = opened.get(opened.address.partition(opened.host)[2], Cookie="")
    assert (came.status, came.headers["location"]) == (303, "/")
    cookie = came.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def test_without_the_key_nothing_is_shown(opened: OpenPage) -> None:
    for cookie in ("", "inkaccord=1", opened.cookie[:-1], '"'):
        answer = opened.get("/", Cookie=cookie)
        assert answer.status == 403
        assert "tags" not in answer.text


def test_another_name_that_leads_here_is_refused(opened: OpenPage) -> None:
    port = opened.host.partition(":")[2]
    for host in (f"evil.example:{port}", "127.0.0.1", f"127.0.0.1.evil.example:{port}"):
        assert opened.get("/", Host=host).status == 421
    assert opened.get("/", Host=f"localhost:{port}").status == 200


def test_another_page_can_change_nothing(opened: OpenPage) -> None:
    record = opened.folder / "tags" / "out" / "run.json"
    before = record.stat().st_mtime_ns
    for origin in ("http://evil.example", "null", "", f"http://{opened.host}.evil.example"):
        assert opened.post(f"{opened.order}/run", {}, Origin=origin).status == 403
    assert record.stat().st_mtime_ns == before


def test_a_page_may_run_and_fetch_only_what_is_ours(opened: OpenPage) -> None:
    policy = opened.get("/").headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    made = opened.get(f"{opened.order}/made/report.html").headers["content-security-policy"]
    assert "script-src" not in made
    assert "sandbox" in made
    assert "allow-scripts" not in made


def test_too_much_is_refused_before_it_is_read(opened: OpenPage) -> None:
    answer = opened.get("/", **{"Content-Length": str(1 << 40)})
    assert answer.status == 413
    assert opened.get("/", **{"Content-Length": "1" * 30}).status == 400


def test_nothing_outside_what_a_run_made_is_sent(opened: OpenPage) -> None:
    (opened.folder / "tags" / "out" / "secret.txt").write_text("secret", "utf-8")
    for path in (
        "secret.txt",
        "../order.yaml",
        "..%2forder.yaml",
        "%2fetc%2fpasswd",
        "/etc/passwd",
    ):
        answer = opened.get(f"{opened.order}/made/{path}")
        assert answer.status in {403, 404}, path
        assert "secret" not in answer.text
        assert "root:" not in answer.text
    assert opened.get("/order/nowhere").status == 404
    assert opened.get("/static/../gate.py").status == 404


def test_an_address_without_a_page_leads_back(opened: OpenPage) -> None:
    """As after a page that said what was wrong is asked for once more, by its address."""
    for path, status in (("/nothing", 404), ("/undo", 405), (f"{opened.order}/sent", 405)):
        answer = opened.get(path)
        assert answer.status == status
        assert "Back to all orders" in answer.text
        assert "go back to the page that you came from" in answer.text


def test_what_an_order_says_is_shown_and_does_nothing(opened: OpenPage) -> None:
    order = opened.folder / "strange"
    order.mkdir(exist_ok=True)
    text = (opened.folder / "tags" / "order.yaml").read_text("utf-8")
    bad = text + 'title: "<script>alert(1)</script>\\e[31m"\n'
    (order / "order.yaml").write_text(bad, "utf-8")
    try:
        page = opened.get("/").text
    finally:
        (order / "order.yaml").unlink()
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    assert "\x1b" not in page
