"""The phone page in a real browser: what it answers, that it loads nothing, and that it reads without scripts."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from pegbook.drawings.booklet_blocks import picture_size
from pegbook.drawings.gates import told
from pegbook.drawings.html import PICTURE
from support.issued import DEMO, issued, rows, worked

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync")
NAME = DEMO[0]

# Mid 8.810, half range 0.030. Each reading, the reading before, and the answer.
VECTORS = [("8.815", None, "good"), ("8,815", None, "good"), ("8.870", None, "again"), ("9.810", None, "metre"),
           ("8.910", None, "ten"), ("8.180", None, "swapped"), ("8.872", 8.870, "stop"), ("", None, "empty"),
           ("abc", None, "empty"), ("8.780", None, "good"), ("8.840", None, "good"), ("8.841", None, "again"),
           ("7.810", None, "metre"), ("10.810", None, "metre"), ("8.710", None, "ten"), ("9.040", 8.870, "stop")]


def run_page(tmp_path: Path, script: str, page: str | None = None) -> str:
    """Open the page in the browser, run `script` in it, return what it writes to the document's title element."""
    if not BROWSER:
        pytest.skip("chromium is not installed")
    text = page or issued(NAME)["pegging.html"].decode("utf-8")
    path = tmp_path / "page.html"
    path.write_text(text.replace("</body>", f"<script>{script}</script></body>"), "utf-8")
    run = subprocess.run([BROWSER, *FLAGS, f"--user-data-dir={tmp_path / 'browser'}", "--virtual-time-budget=3000",
                          "--dump-dom", path.as_uri()], capture_output=True, text=True, check=True, timeout=120)
    return run.stdout


def said(dom: str) -> object:
    found = re.search(r'<pre id="said">(.*?)</pre>', dom, re.DOTALL)
    assert found, dom[:2000]
    from html import unescape

    return json.loads(unescape(found.group(1)))


SAY = ("const out=document.createElement('pre');out.id='said';out.textContent=JSON.stringify({what});"
       "document.body.append(out);")


def test_answers_to_typed_readings(tmp_path: Path) -> None:
    vectors = json.dumps([[text, before] for text, before, _ in VECTORS])
    check = "{low:'8.780',high:'8.840',lo:8.78,hi:8.84,mid:8.81,start:'D',end:'X101'}"
    what = f"{vectors}.map(([t,b])=>pegging.answer(t,{check},b).kind)"
    assert said(run_page(tmp_path, SAY.replace("{what}", what))) == [kind for _, _, kind in VECTORS]


def test_every_peg_of_the_set_is_an_act_in_the_same_order(tmp_path: Path) -> None:
    what = "pegging.acts.filter(a=>a.kind==='drive').map(a=>a.row.peg)"
    acts = said(run_page(tmp_path, SAY.replace("{what}", what)))
    driven = [row["peg"] for row in sorted(rows(NAME, "pegs.csv"), key=lambda r: int(r["order"]))
              if row["purpose"] not in ("control", "recovery", "level")]
    assert acts == driven


def test_a_whole_walk_through_the_page(tmp_path: Path) -> None:
    """Press the main act from the start to the end, answering every check with its middle."""
    script = """
    const seen=[];let guard=0;
    while(guard++<3000){
      const field=document.querySelector('.field');
      document.querySelectorAll('.tick input').forEach(t=>{if(!t.checked)t.click()});
      document.querySelectorAll('.field').forEach(f=>{
        const range=f.previousElementSibling.querySelector('.range').textContent;
        const [lo,hi]=range.split(' to ').map(Number);f.value=((lo+hi)/2).toFixed(3);
        f.dispatchEvent(new KeyboardEvent('keydown',{key:'Enter',bubbles:true}))});
      seen.push(document.querySelector('h1').textContent);
      const act=document.querySelector('#foot .act');
      if(act.getAttribute('aria-disabled')) {seen.push('locked');break}
      act.click();
      if(guard>1&&document.querySelector('.revision'))break;
    }
    """
    heads = said(run_page(tmp_path, script + SAY.replace("{what}", "seen")))
    assert isinstance(heads, list)
    assert "locked" not in heads
    driven = sum(1 for row in rows(NAME, "pegs.csv") if row["purpose"] not in ("control", "recovery", "level"))
    assert sum(1 for head in heads if head.startswith("Drive ")) == driven


def test_nothing_is_wider_than_a_small_phone(tmp_path: Path) -> None:
    what = ("(()=>{const wide=[];document.body.style.width='320px';for(let i=0;i<pegging.acts.length;i++){"
            "const act=document.querySelector('#foot .act');if(document.body.scrollWidth>322)wide.push(i);"
            "document.querySelectorAll('.tick input').forEach(t=>{if(!t.checked)t.click()});"
            "if(act&&!act.getAttribute('aria-disabled'))act.click();else break}return wide})()")
    assert said(run_page(tmp_path, SAY.replace("{what}", what))) == []


def test_nothing_scrolls_sideways_at_400_per_cent(tmp_path: Path) -> None:
    """A phone 390 wide enlarged twice and four times leaves 195 and 97: every screen from start to end fits."""
    walk = """
    const wide=[];let count=0;
    for(let i=0;i<=pegging.acts.length;i++){
      count++;
      if(document.documentElement.scrollWidth>innerWidth)wide.push([i,document.querySelector('h1').textContent]);
      document.querySelectorAll('.tick input').forEach(t=>{if(!t.checked)t.click()});
      document.querySelectorAll('.field').forEach(f=>{
        const range=f.previousElementSibling.querySelector('.range').textContent;
        const [lo,hi]=range.split(' to ').map(pegging.parse);f.value=pegging.show((lo+hi)/2);
        f.dispatchEvent(new KeyboardEvent('keydown',{key:'Enter',bubbles:true}))});
      const act=document.querySelector('#foot .act');
      if(act.getAttribute('aria-disabled')){wide.push('locked');break}
      act.click();
    }
    parent.postMessage([innerWidth,count,wide],'*');
    """
    inner = issued("town-yard-feet")["pegging.html"].decode("utf-8")
    (tmp_path / "inner.html").write_text(inner.replace("</body>", f"<script>{walk}</script></body>"), "utf-8")
    frames = "".join(f"<iframe src=inner.html width={width} height=700 style='border:0'></iframe>" for width in WIDTHS)
    outer = (f"<!DOCTYPE html><body>{frames}<pre id=\"said\"></pre><script>const all=[];"
             "onmessage=(e)=>{all.push(e.data);document.getElementById('said').textContent=JSON.stringify(all)}</script></body>")
    found = said(run_page(tmp_path, "", outer))
    assert isinstance(found, list)
    assert sorted(width for width, _, _ in found) == sorted(WIDTHS)
    assert all(count > 20 and not wide for _, count, wide in found), found


WIDTHS = (390, 195, 97)


def test_ticks_and_heights_are_kept_for_the_next_time(tmp_path: Path) -> None:
    """What was ticked is ticked when the page is opened again, in the same place of the list."""
    go = "pegging.acts.forEach((a,i)=>{if(a.kind==='heights')window.at=i});"
    name = "Object.keys(localStorage).find((k)=>k.startsWith('pegging '))"
    first = (f"{go}const buttons=[...document.querySelectorAll('.list button')];"
             "buttons.find((b)=>b.textContent.startsWith('L')).click();"
             "document.querySelectorAll('.height input')[1].click();"
             "const left=document.querySelector('#foot .act').textContent;"
             f"{SAY.replace('{what}', '[left,localStorage.length]')}")
    again = ("[...document.querySelectorAll('.list button')].find((b)=>b.textContent.startsWith('L')).click();"
             "const boxes=[...document.querySelectorAll('.height input')].map((b)=>b.checked);"
             f"{SAY.replace('{what}', f'[document.querySelector(`#foot .act`).textContent,boxes,!!{name}]')}")
    before = said(run_page(tmp_path, first))
    assert isinstance(before, list)
    left = before[0]
    assert re.fullmatch(r"\d+ still to tick", left)
    after = said(run_page(tmp_path, again))
    assert isinstance(after, list)
    still, boxes, kept = after
    assert kept
    assert still == left
    assert [n for n, ticked in enumerate(boxes) if ticked] == [1]


def test_the_page_loads_nothing_and_reads_without_scripts() -> None:
    page = issued(NAME)["pegging.html"].decode("utf-8")
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)\s*=\s*[\"'](?!data:)", page.split('<script type="application/json"')[0])
    plain = re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL)
    for row in rows(NAME, "pegs.csv"):
        if row["purpose"] not in ("control", "recovery"):
            assert f"<td>{row['peg']}</td>" in plain
            for reading in (row["reading_1"], row["reading_2"]):
                assert reading.lstrip("-") in plain


def test_storage_refused_is_said(tmp_path: Path) -> None:
    page = issued(NAME)["pegging.html"].decode("utf-8")
    page = page.replace('"use strict";', '"use strict";Object.defineProperty(window,"localStorage",'
                        '{get(){throw new Error("refused")}});', 1)
    dom = run_page(tmp_path, "", page)
    assert "This phone will not remember your ticks" in dom


@pytest.mark.parametrize("name", DEMO)
def test_a_picture_is_the_booklets_unless_another_shows_more(name: str) -> None:
    """No picture has fewer names, or more signs that touch, than the other size would have."""
    work = worked(name)
    said = told(work)
    text = issued(name)["pegging.html"].decode("utf-8")
    data = json.loads(re.findall(r'id="work">(.*?)</script>', text, re.DOTALL)[0])
    shared = 0
    for step in (step for chapter in said.chapters for step in chapter.steps):
        box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', data["pictures"][str(step.number)])
        assert box
        small, wide = picture_size(step), PICTURE
        mine, other = (small, wide) if float(box[1]) == small[0] else (wide, small)
        assert (float(box[1]), float(box[2])) == pytest.approx(mine, abs=0.001)
        names = [len(said.pictures.of(step, *size).missing) for size in (mine, other)]
        signs = [said.pictures.touching(step, *size) for size in (mine, other)]
        assert names[0] <= names[1]
        assert signs[0] <= signs[1] or names[0] < names[1]
        shared += mine == small
    assert shared > len(data["pictures"]) / 2
