// Files dropped on a form with a file field go into that field.

for (const form of document.querySelectorAll("form[data-drop]")) {
  const field = form.querySelector("input[type=file]");
  form.addEventListener("dragover", (event) => {
    if (event.dataTransfer.types.includes("Files")) event.preventDefault();
  });
  form.addEventListener("drop", (event) => {
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    const files = new DataTransfer();
    for (const file of [...event.dataTransfer.files].slice(0, field.multiple ? undefined : 1)) files.items.add(file);
    field.files = files.files;
    field.focus();
  });
}
