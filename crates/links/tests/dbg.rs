#[path="proposing/corpus.rs"] #[allow(dead_code)] mod corpus;
#[test] fn d(){ let v=links::Vocabulary::built_in();
 let mut c=corpus::Corpus::read(&std::env::var("C").unwrap()); let l=std::env::var("L").unwrap();
 c.offers.retain(|o| o.listing_id.as_str()==l);
 println!("{}", links::propose(&v,&c.tables()).len()); }
