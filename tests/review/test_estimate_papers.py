"""The papers: the customer's copy with its own rules, files, the job sheet, and what is logged of them."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from estimate_desk import Shop

from narrate.export.estimate_page import digest_holds
from narrate.store.estimates import documents_of, read_estimate


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    made.estimate()
    yield made
    made.close()


def test_the_customers_copy_brings_its_own_rules_and_loads_nothing(shop: Shop):
    answer = shop.client.get("/estimates/e1/paper")
    assert answer.status_code == 200
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "style-src 'sha256-" in policy
    assert "frame-ancestors 'none'" in policy
    assert "script" not in policy
    assert "<script" not in answer.text
    assert digest_holds(answer.text)
    assert not re.findall(r'(?:src|href)="(?!data:|#)', answer.text)
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_each_paper_is_logged_once_until_it_changes(shop: Shop):
    for _ in range(3):
        shop.client.get("/estimates/e1/paper")
    first = documents_of(shop.store, "e1")
    assert [(each.kind, each.how) for each in first] == [("html", "shown")]
    shop.ask("e1", "deposit", to="10", seen="0")
    shop.client.get("/estimates/e1/paper")
    assert len({each.sha256 for each in documents_of(shop.store, "e1")}) == 2
    assert first[0].sha256[:16] in shop.text("/estimates/e1/history")


def test_sending_is_logged_with_its_digest(shop: Shop):
    told = shop.client.post(
        "/api/estimates/e1/shown", json={"how": "sent", "clips": [], "to": "joan@example.org"}
    ).json()
    [shown] = documents_of(shop.store, "e1")
    assert (shown.how, shown.to, shown.sha256) == ("sent", "joan@example.org", told["sha256"])
    assert told["sha256"][:4] in told["text"]
    assert "$158.50" in told["text"]
    assert "Joan Doe" in told["text"]


def test_the_file_opens_anywhere_and_is_downloaded(shop: Shop):
    answer = shop.client.get("/estimates/e1/estimate.html")
    assert "attachment" in answer.headers["content-disposition"]
    assert digest_holds(answer.text)
    assert "<audio" not in answer.text, "no clip unless it was asked for"


def test_pdf(shop: Shop):
    answer = shop.client.get("/estimates/e1/paper.pdf")
    assert answer.status_code == 200
    assert answer.content.startswith(b"%PDF-")
    assert answer.headers["content-type"] == "application/pdf"


def test_lines_for_the_shops_own_system(shop: Shop):
    rows = list(
        csv.DictReader(io.StringIO(shop.client.get("/estimates/e1/files/lines.csv").content.decode("utf-8-sig")))
    )
    assert {row["kind"] for row in rows} >= {"labor", "part", "to be priced"}
    assert zipfile.is_zipfile(io.BytesIO(shop.client.get("/estimates/e1/files/lines.xlsx").content))
    record = json.loads(shop.client.get("/estimates/e1/files/estimate.json").content)
    assert record["schema"] == "narrate.estimate/1"
    assert shop.client.get("/estimates/e1/files/passwd").status_code == 404


def test_the_job_sheet_has_what_was_authorized_alone(shop: Shop):
    line = {"kind": "labor", "text": "Wash", "quantity": "1", "unit": "h", "unit_price": "60"}
    shop.ask("e1", "add_job", title="Wash it well", line=line)
    shop.say("e1", {"j1": {"state": "authorized"}})
    sheet = shop.text("/estimates/e1/job-sheet")
    assert "front brake pads" in sheet
    assert "Wash it well: offered" in sheet, "told as not to be done"
    assert sheet.count("Wash it well") == 1
    assert shop.client.get("/estimates/e1/job-sheet.pdf").content.startswith(b"%PDF-")


def test_looking_changes_nothing_of_the_estimate(shop: Shop):
    before = read_estimate(shop.store, "e1").estimate
    for path in ("paper", "paper.pdf", "estimate.html", "job-sheet", "files/lines.csv", "history"):
        assert shop.client.get(f"/estimates/e1/{path}").status_code == 200
    assert read_estimate(shop.store, "e1").estimate == before
