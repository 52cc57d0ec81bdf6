/** `npm run pictures [name ...]`: the pictures of src/page/pictures, made anew from the built page. */
import { loading } from "../support/loading.js";

await loading("/tests/pictures/make.ts", ({ makePictures }) => makePictures(process.argv.slice(2)));
