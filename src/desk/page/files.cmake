# The files of the pages, each served under its own name; index.html also as the first page.
set(desk_page_files
  index.html
  look.css)
